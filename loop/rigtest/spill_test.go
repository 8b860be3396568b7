package rigtest

import "testing"

// What other lamps throw on a probe makes no landing false.
func TestSpillMakesNoLandingFalse(t *testing.T) {
	for _, c := range neighbours() {
		if c.Spill == 0 {
			continue
		}
		s := Sum(&c, c.Play(7, 2))
		if s.Failed > 0 || s.Landed < 0.95 || s.False > 0 {
			t.Errorf("%s: landed %.1f %%, beyond 1.5 times the tolerance %.1f %% (worst %.4f), %s", c.Name, 100*s.Landed, 100*s.False, s.Worst, s.Why)
		}
	}
}
