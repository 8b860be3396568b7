package rigtest

import "testing"

// Of lamps that set themselves anew some seconds after they are lit, nothing false is claimed where they are watched.
func TestWatchedLampsThatCalibrateThemselves(t *testing.T) {
	c := class(t, "lamps that calibrate themselves, watched")
	s := Sum(c, c.Play(7, 6))
	t.Log("\n" + Table([]Score{s}))
	if s.Failed > 0 || s.Landed < 0.9 || s.False > 0.03 {
		t.Errorf("landed %.1f %%, beyond 1.5 times the tolerance %.1f %%", 100*s.Landed, 100*s.False)
	}
	c.Watch = 0
	if s := Sum(c, c.Play(7, 6)); s.False < 0.1 {
		t.Errorf("unwatched %.1f %% are beyond: the scene is not harsh", 100*s.False)
	}
}
