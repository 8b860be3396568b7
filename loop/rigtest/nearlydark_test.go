package rigtest

import (
	"strings"
	"testing"
	"time"

	"trueup/loop/stage"
)

// In a room that is all but dark a meter that means some windows gives one even reading after another of whatever hue: that is no light that moves.
// Nor is a lamp that somebody lights there for half a minute, which such a meter sees come in several steps.
func TestALampLitInADarkRoomIsNoMovingLight(t *testing.T) {
	c := Class{Name: "somebody's lamp in a dark room", Lamps: 6, Probes: 1, Somebody: somebody{1, 10 * time.Second, 40 * time.Second, 0.15}, Meter: func(m *stage.MeterSpec, d *draws) {
		meansThree(m, d)
		m.Floor = 0.01
	}}
	lamps, missed, beyond, moving := 0, 0, 0, 0
	for n := range 25 {
		run := c.Rig(2501, n).Play()
		if run.Err != nil {
			t.Fatal(run.Err)
		}
		for _, l := range run.Lamps {
			switch {
			case !l.Reachable:
				continue
			case l.Outcome.Landed() && l.Error() > 1.5*tolerance:
				beyond++
			case !l.Outcome.Landed():
				missed++
				if strings.Contains(l.Outcome.Reason, "a moving light") {
					moving++
				}
			}
			lamps++
		}
	}
	t.Logf("of %d lamps %d are not landed, %d of them for a moving light, %d are landed and beyond 1.5 tolerances", lamps, missed, moving, beyond)
	if moving > 0 || missed*100 > 3*lamps || beyond > 1 {
		t.Errorf("of %d lamps %d are not landed, %d of them for a moving light, %d are landed and beyond 1.5 tolerances", lamps, missed, moving, beyond)
	}
}
