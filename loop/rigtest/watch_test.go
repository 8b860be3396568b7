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

// On a large rig the first of each type are watched without being asked for, since that takes little of the run. Leaps that differ from lamp to lamp
// are not all found out by three; on small rigs nobody is watched, and the end of the run names the types.
func TestALargeRigIsWatchedUnasked(t *testing.T) {
	c := class(t, "lamps that calibrate themselves")
	c.Lamps, c.Alike = 100, 100
	unasked, unwatched := 0, 0
	for n := range 5 {
		r := c.Rig(7, n)
		unasked += beyond(r.Play())
		r = c.Rig(7, n)
		r.Config.Plan.WatchShare = 0
		unwatched += beyond(r.Play())
	}
	t.Logf("beyond 1.5 times the tolerance: %d watched unasked, %d not watched", unasked, unwatched)
	if 2*unasked > unwatched {
		t.Errorf("%d of 500 are beyond 1.5 times the tolerance, %d where nobody is watched", unasked, unwatched)
	}
}

// beyond counts lamps that are called landed, and are not.
func beyond(r Run) (n int) {
	for _, l := range r.Lamps {
		if l.Beyond() {
			n++
		}
	}
	return n
}
