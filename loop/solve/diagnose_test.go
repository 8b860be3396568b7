package solve

import (
	"testing"
	"time"

	"trueup/profiles/law"
)

// A lamp that does not answer is named within four readings, whatever it
// shines.
func TestLampThatDoesNotAnswer(t *testing.T) {
	for k := range uint64(20) {
		s := sevenSpec(4, 65535)
		l := unit(s, k, 1)
		l.dead = true
		d, n := play(start(t, s, warmWhite, nil), l)
		if d.Outcome != Held || d.Cause != NotAnswering || n > 4 {
			t.Errorf("lamp %d: %s, cause %q after %d readings: %s", k, d.Outcome, d.Cause, n, d.Reason)
		}
	}
}

// Two emitters on each other's slot are named within four readings.
func TestSwappedEmitters(t *testing.T) {
	named := 0
	const runs = 20
	for k := range uint64(runs) {
		s := sevenSpec(4, 65535)
		l := unit(s, k, 1)
		l.order = []int{1, 0, 2, 3}
		d, n := play(start(t, s, warmWhite, nil), l)
		if d.Cause == Swapped && n <= 4 {
			named++
		} else {
			t.Logf("lamp %d: %s, cause %q after %d readings", k, d.Outcome, d.Cause, n)
		}
	}
	if named < runs*9/10 {
		t.Errorf("named in %d of %d", named, runs)
	}
}

// Usual lamps are accused of nothing.
func TestNoFalseAccusations(t *testing.T) {
	for k := range uint64(60) {
		s := sevenSpec(3+int(k%5), 65535)
		d, _ := play(start(t, s, warmWhite, nil), unit(s, 500+k, 1.2))
		if d.Cause != NoCause {
			t.Errorf("lamp %d: %q", k, d.Cause)
		}
	}
}

// A wrong law is lived with, and whatever is named is the law: often the lamp
// lands before it matters which law it has.
func TestWrongLaw(t *testing.T) {
	const runs = 20
	for k := range uint64(runs) {
		s := sevenSpec(4, 65535)
		s.Curve.Law = law.Square
		l := unit(s, 70+k, 1)
		s.Curve.Law = law.Linear
		d, n := play(start(t, s, warmWhite, nil), l)
		if e := l.light(d.Drive).UV().Dist(warmWhite); d.Outcome != Landed || e > 0.0015 {
			t.Errorf("lamp %d: %s after %d, %.4f off", k, d.Outcome, n, e)
		}
		if d.Cause != NoCause && d.Cause != WrongLaw {
			t.Errorf("lamp %d: accused of %q", k, d.Cause)
		}
	}
}

// A light that drifts away is told from a meter that scatters.
func TestDriftIsNamedAsDrift(t *testing.T) {
	s := sevenSpec(4, 65535)
	l := unit(s, 9, 1)
	m := start(t, s, warmWhite, nil)
	now := m.Next(0).Drive
	for k := range 12 {
		r := l.read(now, time.Duration(k)*time.Second)
		r.UV.U += 0.001 * float64(k)
		m.Observe(r)
	}
	if m.unsettledBy(); m.fault.cause != LampDrift {
		t.Errorf("cause %q", m.fault.cause)
	}
}
