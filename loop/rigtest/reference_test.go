package rigtest

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/stage"
)

// A filter that is taken off the reference while the last dark of a run is read changes nothing that was read before, but
// all that is claimed after: nothing is said to match the light that is gone, unless it went within the last readings.
func TestAReferenceThatChangesAtTheLastLookIsSeen(t *testing.T) {
	for _, c := range []Class{
		{Name: "reference changes at the end", Lamps: 6, Probes: 3},
		{Name: "reference changes at the end, lanes", Lamps: 6, Probes: 3, Lanes: 3},
		{Name: "reference changes at the end, lanes beside daylight", Lamps: 6, Probes: 3, Lanes: 3, Background: 1, Ambient: walk},
		{Name: "reference changes at the end, many probes", Lamps: 16, Probes: 16, Background: 0.3},
	} {
		for n := range 2 {
			c.Reference = changesAt(time.Hour)
			end := time.Duration(c.Rig(21, n).Play().Seconds * float64(time.Second))
			for before := 400 * time.Millisecond; before < 3*time.Second; before += 300 * time.Millisecond {
				c.Reference = changesAt(end - before)
				if wrong := beyond(c.Rig(21, n).Play()); wrong > 0 {
					t.Errorf("%s: rig %d, a filter taken off %v before the end: %d lamps are called landed beside the light that is gone", c.Name, n, before, wrong)
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

// Where background and reference wander faster than they can be read, looks at them interrupt a visit as often as its lamp is read: such a run ends
// all the same, some three minutes for each lamp.
func TestARoomThatWandersEndsTheRun(t *testing.T) {
	c, words := Mixed(2344) // fifteen lamps beside .7 of their light, which walks, and a warming reference among them
	if r := c.Rig(2344, 0).Play(); r.Err != nil || r.Seconds > 200*float64(len(r.Lamps)) {
		t.Errorf("%.0f s for %d lamps beside %v (%v)", r.Seconds, len(r.Lamps), words, r.Err)
	}
}
