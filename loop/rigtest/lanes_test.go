package rigtest

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

// Lanes beside one lane, over equal panels: how much faster, and how true.
func TestLanesTable(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") == "" {
		t.Skip("set TRUEUP_LONG=1: plays some thousand lamps")
	}
	for _, lamps := range []int{60, 400} {
		for _, spill := range []float64{0, 0.01, 0.03, 0.10} {
			for _, near := range []bool{false, true} {
				if near && spill == 0 {
					continue
				}
				name := fmt.Sprintf("%d panels, spill %g near %v", lamps, spill, near)
				if !strings.Contains(name, *only) {
					continue
				}
				var all []Score
				for _, lanes := range []int{1, 4, 8, 16} {
					c := Class{Name: fmt.Sprintf("%s, %d lanes", name, lanes), Lamps: lamps, Alike: lamps, Probes: max(lanes, 8), Lanes: lanes, Only: "cct", Spill: spill, Near: near, Bounce: 0.02}
					if lanes == 4 {
						c.Probes = 4
					}
					all = append(all, Sum(&c, c.Play(1, *rigs)))
				}
				t.Log("\n" + Table(all))
			}
		}
	}
}
