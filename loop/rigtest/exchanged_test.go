package rigtest

import "testing"

// A lamp whose two parameters of colour have each other's slots is named within eight readings, and is matched all the same: the steps go by what it does. Before,
// it was called one that jumps or is in another mode, none of x and y and none of hue and saturation landed; no sound lamp is called so.
func TestExchangedParametersAreNamedAndTheLampLands(t *testing.T) {
	for _, name := range []string{"x and y exchanged", "hue and saturation exchanged", "colour temperature and tint exchanged"} {
		c := class(t, name)
		spoilt, named, landed, beyond := 0, 0, 0, 0
		for _, run := range c.Play(601, 8) {
			for i := range run.Lamps {
				switch l := &run.Lamps[i]; {
				case l.Spoilt:
					spoilt++
					if l.Named > 0 && l.Named <= 8 {
						named++
					}
					if l.Outcome.Landed() {
						landed++
					}
					if l.Beyond() {
						beyond++
					}
				case accusation(l.Outcome) == "swapped":
					t.Errorf("%s: sound %s: %s", name, l.Name, l.Outcome.Reason)
				}
			}
		}
		if spoilt < 15 || named*10 < spoilt*9 || landed*10 < spoilt*9 || beyond > 1 {
			t.Errorf("%s: of %d %d are named within eight readings, and %d land, %d of them falsely", name, spoilt, named, landed, beyond)
		}
	}
}
