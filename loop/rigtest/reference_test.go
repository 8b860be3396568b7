package rigtest

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
	"trueup/loop/stage"
)

// A filter that is taken off the reference while the last dark of a run is read changes nothing that was read before, but
// all that is claimed after: nothing is said to match the light that is gone, unless it went within the last quarter second.
func TestAReferenceThatChangesAtTheLastLookIsSeen(t *testing.T) {
	whole := func(c *Class, n int) Run { return c.Rig(21, n).Play() }
	c := Class{Name: "reference changes at the end", Lamps: 6, Probes: 3}
	for n := range 4 {
		c.Reference = changesAt(time.Hour)
		end := time.Duration(whole(&c, n).Seconds * float64(time.Second))
		for before := 300 * time.Millisecond; before < 3*time.Second; before += 300 * time.Millisecond {
			c.Reference = changesAt(end - before)
			for _, l := range whole(&c, n).Lamps {
				if l.Outcome != nil && l.Outcome.Result == solve.Landed && l.Error() > 1.5*tolerance {
					t.Errorf("rig %d, a filter taken off %v before the end: %s is called landed, %.4f off", n, before, l.Name, l.Error())
				}
			}
		}
	}
}

// changesAt takes a filter off the reference.
func changesAt(at time.Duration) func(*draws) stage.Change {
	return func(*draws) stage.Change {
		return stage.Change{Gel: at, GelMoved: colorcalc.UV{U: 0.008, V: -0.006}, GelFactor: 1.2}
	}
}

// Where the room is so bright beside the lamps that a setting takes hundreds of readings, that is found out in minutes: nobody waits an hour for
// lamps that can not be told apart from the room.
func TestARoomThatIsTooBrightIsFoundOutSoon(t *testing.T) {
	c := Class{Name: "too bright", Lamps: 6, Probes: 3, Lanes: 3, Background: 2, OwnLamp: true, Spill: 0.03, Bounce: 0.02}
	for n := range 2 {
		if r := c.Rig(5, n).Play(); r.Err != nil || r.Seconds > 1500 {
			t.Errorf("rig %d: %.0f s for %d lamps (%v)", n, r.Seconds, len(r.Lamps), r.Err)
		}
	}
}
