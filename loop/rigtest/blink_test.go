package rigtest

import (
	"strings"
	"testing"
)

// Beside a light that goes on and off nothing is claimed, and the light is named: also at a probe
// whose every short passage in the dark met it out, once another probe has shown it. So it is of one that is switched
// once in 20 to 60 s.
func TestNothingIsClaimedBesideABlinkingLight(t *testing.T) {
	for _, c := range rooms() {
		if c.Ambient.Blink == 0 {
			continue
		}
		runs := c.Play(1, 6)
		if s := Sum(&c, runs); s.Failed > 0 || s.False > 0 || s.Accused > 0 {
			t.Errorf("%s: beyond 1.5 times the tolerance %.1f %% (worst %.4f), of the lamps %.1f %% accused, %s", c.Name, 100*s.False, s.Worst, 100*s.Accused, s.Why)
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

// A light that swings smoothly, as under clouds that pass, is no light that blinks: where it does little harm lamps are matched beside it, and what is claimed
// of them holds.
func TestALightThatSwingsDoesNotBlink(t *testing.T) {
	for _, name := range []string{"ambient 0.03 swings", "ambient 0.1 swings"} {
		c := class(t, name)
		s := Sum(c, c.Play(17, 10))
		t.Log("\n" + Table([]Score{s}))
		if s.Failed > 0 || s.Landed < 0.97 || s.False > 0.01 || s.Inside < 0.94 || s.Accused > 0.01 {
			t.Errorf("%s: landed %.1f %%, inside %.1f %%, beyond 1.5 times the tolerance %.1f %%, accused %.1f %% (%s)", name, 100*s.Landed, 100*s.Inside, 100*s.False, 100*s.Accused, s.Why)
		}
	}
}
