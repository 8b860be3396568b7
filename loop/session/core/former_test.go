package core

import (
	"math"
	"testing"
	"time"

	"trueup/loop/solve"
)

// A reading that the estimate does not believe, as of somebody in the beam, says neither how bright a lamp is nor how far off it stands: the next decision
// would give it up beside a light that does it no harm.
func TestAReadingThatIsNotBelievedIsNotTheLamp(t *testing.T) {
	b := newBench(t, 2, nil)
	b.tell(Event{Kind: Begin})
	b.until("the lamp is read", func() bool { return b.c.units[1].tally.kept > 0 && b.c.units[1].own.Y > 0 })
	u, was := b.c.units[1], b.c.units[1].own
	off := u.tally.last.Delta
	read := func(share float64, v solve.Verdict) {
		raw := Reading{At: b.p.now + time.Second, Integration: 200 * time.Millisecond, Probe: u.Info.Probe, UV: was.UV(), Y: share * was.Y, HasY: true}
		net := solve.Reading{UV: raw.UV, Y: raw.Y, HasY: true, SigmaUV: 0.0005, SigmaLnY: 0.007}
		net.UV.U += 0.02 * (1 - share)
		b.c.keepReading(u, &raw, &net)
		b.c.account(u, solve.Account{Verdict: v})
	}
	read(0.04, solve.Outlier)
	if math.Abs(u.own.Y-was.Y) > 1e-9 || u.tally.last.Delta != off {
		t.Errorf("it is taken to give %.1f lux, %.4f off; it was read with %.1f lux, %.4f off", u.own.Y, u.tally.last.Delta, was.Y, off)
	}
	read(0.9, solve.Accepted)
	if math.Abs(u.own.Y-0.9*was.Y) > 1e-9 {
		t.Errorf("a reading that is believed leaves it at %.1f lux", u.own.Y)
	}
}
