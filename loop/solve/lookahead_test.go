package solve

import (
	"testing"
	"time"
)

// What all readings have in common, the error of the reference and of the background, does not shrink with further readings: a head
// that stands off by half the tolerance is moved, and not read over and over in the hope that it turns out inside.
func TestReadingsDoNotMakeTheTargetSurer(t *testing.T) {
	const common, most = 0.0004, 12
	begin := func(s Spec) *Match {
		m := start(t, s, warmWhite, nil)
		m.opt.Settle = 2 * time.Second
		m.Common(common)
		return m
	}
	readOn := 0
	for k := range uint64(20) {
		s := sevenSpec(4, 65535)
		l := unit(s, 4200+k, 1)
		l.sigma = 0.0002
		d, _ := play(begin(s), l)
		for l.light(d.Drive).UV().Dist(warmWhite) < 0.0004 {
			d.Drive[0] += 20
		}
		m := begin(s)
		next, at := Decision{Action: Again}, time.Second
		for n := 0; n < most && next.Action != Move; n++ {
			m.Observe(l.read(d.Drive, at))
			at += time.Second
			next = m.Next(at)
		}
		if next.Action == Again {
			readOn++
			t.Logf("lamp %d: after %d readings %.4f off, P %.2f: %s", k, most, l.light(d.Drive).UV().Dist(warmWhite), next.P, next.Reason)
		}
	}
	if readOn > 0 {
		t.Errorf("%d of 20 lamps were read on", readOn)
	}
}
