package rigtest

import (
	"math"
	"strings"
	"testing"

	"trueup/loop/session/core"
	"trueup/loop/stage"
	"trueup/profiles/law"
)

// Lamps whose dimmers follow a curve that their profiles do not state are brought to one level all the same, in few readings; none is said to be
// in another mode for it, and one that is not brought there is named.
func TestOneLevelByDimmersWhoseCurvesAreNotStated(t *testing.T) {
	const far = 0.07
	all, level, read := 0, 0, 0
	for _, seed := range []uint64{5, 1201} {
		for _, only := range []string{"cct", "xy", "hue"} {
			for _, bits := range []int{16, 8} {
				for _, curve := range []stage.Law{stage.Linear, stage.Square, stage.Gamma} {
					c := Class{Name: "dimmers without a curve", Only: only, Bits: bits, Common: core.CommonEqual, Lamps: 6, Lamp: func(l *lampPlan, d *draws) {
						dims(l, d)
						l.kind.DimLaw = curve
						l.spec.Dimmer.Level.Curve = law.Curve{}
					}}
					lamps, landed, within3, within7, readings := 0, 0, 0, 0, 0
					for n := range 2 {
						run, said, middle := playLevels(t, c.Rig(seed, n), func(e core.Entry) {
							if e.Account != nil && strings.Contains(e.Account.Words, "another mode") {
								t.Errorf("%s, %d bit, %s, rig %d/%d: %s: %s", only, bits, curve, seed, n, e.Fixture, e.Account.Words)
							}
						})
						for _, l := range run.Lamps {
							lamps++
							if l.Outcome != nil {
								readings += l.Outcome.Readings
							}
							if !l.Outcome.Landed() {
								continue
							}
							landed++
							off := math.Abs(math.Log(l.Lux / middle))
							if off <= 0.03 {
								within3++
							}
							if off <= far {
								within7++
							} else if !strings.Contains(said, l.Name+" ") {
								t.Errorf("%s, %d bit, %s, rig %d/%d: %s gives %.1f lux, half of the others more than %.1f, and nobody says so:\n%s", only, bits, curve, seed, n, l.Name, l.Lux, middle, said)
							}
						}
					}
					if only != "xy" || bits > 8 { // of those hardly half reach the colour, linear dimmers or not
						all, level, read = all+lamps, level+within7, read+readings
					}
					t.Logf("seed %d, %s, %d bit, %s: of %d landed %d, within 3 %% %d, 7 %% %d, %.1f readings a lamp", seed, only, bits, curve, lamps, landed, within3, within7, float64(readings)/float64(lamps))
				}
			}
		}
	}
	if level*100 < all*97 || read > 8*all {
		t.Errorf("of %d lamps %d landed at the common level, in %d readings", all, level, read)
	}
}
