package solve

import (
	"math"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
)

// throughWindow plays a match with a meter whose window sees the lamp's pulses at another place each time: what it reads is off by
// swing, u'v', times a cosine of a phase that goes on by so many turns with each reading, in u', and of its quarter turn in v'.
func throughWindow(m *Match, l *lamp, swing, turns float64) Decision {
	at := time.Duration(0)
	var now Drive
	for n := 0; ; n++ {
		d := m.Next(at)
		if d.Action == Done {
			return d
		}
		if d.Action == Move {
			now = d.Drive
		}
		at += 300 * time.Millisecond
		r := l.read(now, at)
		sin, cos := math.Sincos(2 * math.Pi * turns * (float64(n) + 0.3))
		r.UV = colorcalc.UV{U: r.UV.U + swing*cos, V: r.UV.V + swing*sin/2}
		m.Observe(r)
	}
}

// A lamp whose pulses beat with the meter's window reads otherwise each time. It is not landed on a reading that happens to
// fit.
func TestPulsesThatBeatWithTheWindowAreNoLanding(t *testing.T) {
	landed, beyond, lamps := 0, 0, 0
	for k := range uint64(200) {
		s := sevenSpec(4+int(k%2), 65535)
		l := unit(s, 3000+k, 1)
		lamps++
		d := throughWindow(start(t, s, warmWhite, nil), l, 0.003, 0.31)
		if d.Outcome != Landed {
			continue
		}
		landed++
		if e := l.light(d.Drive).UV().Dist(warmWhite); e > 1.5*defaultTol {
			beyond++
		}
	}
	t.Logf("of %d lamps %d landed, %d of them beyond 1.5 times the tolerance", lamps, landed, beyond)
	if beyond > lamps/20 {
		t.Errorf("of %d lamps %d landed, %d of them beyond 1.5 times the tolerance", lamps, landed, beyond)
	}
}

// A lamp whose light stands still is not taken for a restless one; of one that is too restless for the tolerance it is said.
func TestOnlyARestlessLampIsCalledSo(t *testing.T) {
	s := sevenSpec(5, 65535)
	for k := range uint64(40) {
		m := start(t, s, warmWhite, nil)
		play(m, unit(s, 500+k, 1))
		if m.scatter() > 1 {
			t.Errorf("lamp %d: taken to scatter %.0f times as much as the meter", k, m.scatter())
		}
	}
	d := throughWindow(start(t, s, warmWhite, nil), unit(s, 7, 1), 0.008, 0.31)
	if d.Outcome != Unsettled || d.Cause != MeterNoise || !strings.Contains(d.Reason, "times what the meter's do") {
		t.Errorf("%s, cause %q: %s", d.Outcome, d.Cause, d.Reason)
	}
}
