package rigtest

import (
	"testing"

	"trueup/loop/session/core"
)

// Lamps whose colour lags as their level does are read before their steps are over. Where the dimmer alone is slow hardly any is: only by a
// lamp whose fade did not show its lag.
func TestColoursThatLagAreReadOnTheirWay(t *testing.T) {
	slow, stated, dimmers := readOnTheWay(t, "slow lamps, 1 s"), readOnTheWay(t, "slow lamps, 1 s, and their profiles say so"), readOnTheWay(t, "slow dimmers, 1 s, colours at once")
	t.Logf("%d and, with stated times, %d readings began before a step was over; of lamps of which the dimmer alone is slow %d", slow, stated, dimmers)
	if slow < 20 || stated < 20 || dimmers > min(slow, stated)/4 {
		t.Error("want 20 and 20 at the least, and of the last no more than a quarter as many")
	}
}

// readOnTheWay counts readings of some rigs that began before a step of a lit lamp was over.
func readOnTheWay(t *testing.T, name string) (early int) {
	for n := range 4 {
		r := class(t, name).Rig(11, n)
		k := newCore(t, r.Config)
		stepped := map[string]bool{} // by a step since it was read last
		w := r.world(k)
		w.Heard = func(e core.Entry) {
			switch {
			case e.Kind == core.KindReading && e.Reading != nil:
				if e.Reading.Early && stepped[e.Fixture] {
					early++
				}
				stepped[e.Fixture] = false
			case e.Kind == core.KindStep:
				stepped[e.Fixture] = e.Step.Action == "move"
			}
		}
		w.run(longest)
	}
	return early
}
