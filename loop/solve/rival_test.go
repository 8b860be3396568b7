package solve

import (
	"math"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/profiles/law"
)

// spoilt is a lamp of a spec one emitter of which gives no light.
func spoilt(s Spec, seed uint64, emitter int) *lamp {
	l := unit(s, seed, 1)
	l.flux[emitter] = 0
	return l
}

// A dead emitter is named within eight readings, and the lamp lands by the others where they reach.
func TestDeadEmitterIsNamed(t *testing.T) {
	const runs = 40
	named, landed := 0, 0
	for k := range uint64(runs) {
		s := sevenSpec(5+int(k%3), 65535)
		lit := 0
		for i, c := range start(t, s, warmWhite, nil).Next(0).Drive {
			if c > 6000 && i < 4 {
				lit = i
			}
		}
		l := spoilt(s, 900+k, lit)
		d, n := play(start(t, s, warmWhite, nil), l)
		if d.Cause == DeadEmitter && n <= 12 && strings.Contains(d.Reason, s.Emitters[lit].Name+" gives no light") {
			named++
		} else {
			t.Logf("lamp %d without %s: %s, cause %q after %d: %s", k, s.Emitters[lit].Name, d.Outcome, d.Cause, n, d.Reason)
		}
		if d.Outcome == Landed {
			landed++
			if e := l.light(d.Drive).UV().Dist(warmWhite); e > 0.0015 {
				t.Errorf("lamp %d: landed %.4f off", k, e)
			}
		}
	}
	if named < runs*9/10 || landed < runs*8/10 {
		t.Errorf("of %d lamps %d were named and %d landed", runs, named, landed)
	}
}

// What a lamp turned out to be is kept with what is known of it: its next match begins from there, says so,
// and a batch is not taught by it.
func TestRivalIsKept(t *testing.T) {
	s := sevenSpec(5, 65535)
	l := spoilt(s, 31, 3)
	m := start(t, s, warmWhite, nil)
	if d, _ := play(m, l); d.Cause != DeadEmitter {
		t.Fatalf("cause %q", d.Cause)
	}
	p := m.Posterior()
	if p.As != "dead 4" {
		t.Errorf("kept as %q", p.As)
	}
	d, n := play(start(t, s, warmWhite, &p), l)
	if d.Outcome != Landed || d.Cause != DeadEmitter || !strings.Contains(d.Reason, "white gives no light") || n > 5 {
		t.Errorf("%s, cause %q after %d: %s", d.Outcome, d.Cause, n, d.Reason)
	}
	b, err := NewBatch(s)
	if err != nil {
		t.Fatal(err)
	}
	if b.Learn(s, p) {
		t.Error("a lamp with a dead emitter taught its sisters")
	}
	for _, as := range []string{"dead 9", "exchanged 1 2"} {
		p.As = as
		for _, p.Doubted = range []bool{false, true} {
			if _, err := New(s, Target{UV: warmWhite}, &p, DefaultOptions()); err == nil {
				t.Errorf("a prior of a head that is %q was taken, doubted %v", as, p.Doubted)
			}
		}
	}
}

// A setting at which nothing is seen tells of a dead emitter what readings alone do not.
func TestNoLightTellsADeadEmitter(t *testing.T) {
	s := sevenSpec(3, 65535)
	l := spoilt(s, 5, 1)
	m := start(t, s, green, nil)
	d := m.Next(0)
	for k := range 3 {
		m.Observe(l.read(Drive{30000, 30000, 30000}, time.Duration(1+k)*time.Second))
	}
	if m.fault.cause != NoCause {
		t.Fatalf("named %q by one setting", m.fault.cause)
	}
	if !m.Unseen(d.Drive, nil) || m.fault.cause != DeadEmitter {
		t.Errorf("cause %q", m.fault.cause)
	}
	sound := start(t, s, green, nil)
	d = sound.Next(0)
	if sound.Unseen(d.Drive, nil) {
		t.Error("a cause was named without a reading")
	}
}

// A lamp of three emitters without its blue lands nowhere near white by its own light, but next to the dark the stray light has that colour: it is not led
// there, and not called landed by it.
func TestNoLampLandsByStrayLight(t *testing.T) {
	for k := range uint64(40) {
		s := sevenSpec(3, 65535)
		s.Curve = law.Curve{Law: law.Square}
		l := spoilt(s, 19000+k, 2)
		l.spill = colorcalc.UV{U: 0.22, V: 0.5}.XYZ(1.5)
		first, least := 0.0, math.Inf(1)
		d, _ := playBy(start(t, s, warmWhite, nil), func(_ int, d Drive, at time.Duration) Reading {
			r := l.read(d, at)
			if first == 0 {
				first = r.Y
			}
			least = min(least, r.Y/first)
			return r
		})
		if d.Outcome != OutOfReach || d.Cause != DeadEmitter || least < 0.05 {
			t.Errorf("lamp %d: %v (%s), at %.1f %% of its first light at the least", k, d.Outcome, d.Cause, 100*least)
		}
	}
}

// One reading that is wildly bright has no lamp called out of reach, though beside that every setting were next to the dark.
func TestAWildLevelTellsNoDark(t *testing.T) {
	for wild := 1; wild < 4; wild++ {
		for k := range uint64(40) {
			s := sevenSpec(4, 65535)
			l := unit(s, 19200+k, 3)
			l.flux[k%3] /= 2
			d, _ := playBy(start(t, s, warmWhite, nil), func(n int, d Drive, at time.Duration) Reading {
				r := l.read(d, at)
				if n == wild {
					r.Y *= 60
					r.UV.U += 0.01
				}
				return r
			})
			if d.Outcome == OutOfReach {
				t.Errorf("lamp %d, reading %d: %v: %s", k, wild+1, d.Outcome, d.Reason)
			}
		}
	}
}
