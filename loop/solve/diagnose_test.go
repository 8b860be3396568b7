package solve

import (
	"slices"
	"testing"
	"time"

	"trueup/colorcalc"
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

// Two small steps without an answer name a lamp on its first visit. On a later one, for which it was not held before, they do not: near its
// target a sound lamp steps as little, in as much noise.
func TestLaterVisitsTakeALongerSilence(t *testing.T) {
	s := sevenSpec(4, 65535)
	for earlier, want := range map[int]Cause{0: NotAnswering, 2: NoCause} {
		opt := DefaultOptions()
		opt.Earlier = earlier
		m, err := New(s, Target{UV: warmWhite}, nil, opt)
		if err != nil {
			t.Fatal(err)
		}
		sees := func(d []float64) colorcalc.UV {
			z := m.sum.Filter.Predict(&m.sum.Nominal.State, d)
			return colorcalc.UV{U: z[0], V: z[1]}
		}
		d, at := m.Next(0).Drive, time.Second
		light := sees(m.fractions(d))
		for n := range 3 {
			m.Observe(Reading{UV: light, Y: 100 + 0.01*float64(n) /* no digits twice */, HasY: true, SigmaUV: 0.0004, SigmaLnY: 0.006, Drive: d, At: at})
			at += time.Second
			from, next := sees(m.fractions(d)), slices.Clone(d)
			for sees(m.fractions(next)).Dist(from) < 0.0075 { // twice that is a little more than a first visit takes
				next[0] -= 50
			}
			d = next
		}
		if m.fault.cause != want {
			t.Errorf("after %d readings of earlier visits: cause %q, want %q", earlier, m.fault.cause, want)
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
