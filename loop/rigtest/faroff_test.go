package rigtest

import (
	"strings"
	"testing"

	"trueup/colorcalc"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// A target that no mixture reaches leads no lamp into the dark, where what is left of ambient light may have a nearer colour: it ends at its nearest
// point, lit, and is called out of reach.
func TestATargetFarOffLeadsNoLampIntoTheDark(t *testing.T) {
	dark, out, all := 0, 0, 0
	for n := range 24 {
		c := Class{Name: "far off", Only: "emitters", Lamps: 6, Probes: 1, Background: 0.02 + 0.04*float64(n%3)}
		r := c.Rig(50, n)
		far := []colorcalc.UV{{U: 0.30, V: 0.56}, {U: 0.33, V: 0.55}, {U: 0.27, V: 0.57}, {U: 0.05, V: 0.55}}[n%4]
		r.Config.Plan.Target = core.Target{Text: "far off", UV: far}
		for _, l := range r.Play().Lamps {
			all++
			switch o := l.Outcome; {
			case o.Result == solve.Held && strings.Contains(o.Reason, "no light"):
				dark++
			case o.Result == solve.OutOfReach:
				out++
			}
		}
	}
	t.Logf("of %d lamps %d are out of reach, %d went dark", all, out, dark)
	if dark > 1 || out < all*2/3 { // of half of them before the planner held their level
		t.Errorf("of %d lamps %d are called out of reach, and %d went dark", all, out, dark)
	}
}
