package rigtest

import (
	"strings"
	"testing"
)

// Beside a light that goes on and off nothing is claimed, and the light is named.
func TestNothingIsClaimedBesideABlinkingLight(t *testing.T) {
	for _, c := range rooms() {
		if c.Ambient.Blink == 0 {
			continue
		}
		runs := c.Play(2, 2)
		if s := Sum(&c, runs); s.Failed > 0 || s.False > 0 {
			t.Errorf("%s: beyond 1.5 times the tolerance %.1f %% (worst %.4f), %s", c.Name, 100*s.False, s.Worst, s.Why)
		}
		named, all := 0, 0
		for _, r := range runs {
			for _, l := range r.Lamps {
				if all++; l.Outcome != nil && strings.Contains(l.Outcome.Reason, "blinks") {
					named++
				}
			}
		}
		if 10*named < 9*all {
			t.Errorf("%s: the light is named at %d of %d lamps", c.Name, named, all)
		}
	}
}
