package solve

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/profiles/law"
)

// Two emitters on each other's slots are named though the very first reading was a wild one, in level and colour; a lamp whose emitters
// have their own slots is not called so for such a reading.
func TestAWildReadingDoesNotHideAnExchange(t *testing.T) {
	exchangesAreNamed(t, 5100, func(s Spec, l *lamp, _ uint64) (Decision, int) {
		return playBy(start(t, s, warmWhite, nil), func(n int, d Drive, at time.Duration) Reading {
			r := l.read(d, at)
			if n == 0 { // mostly another lamp's light
				r.Y *= 0.64
				r.UV.U, r.UV.V = r.UV.U+0.02, r.UV.V-0.01
			}
			return r
		})
	})
}

// Two emitters on each other's slots are named as well where the lamp dims by another curve than its profile says, or by one that nobody
// states; lamps that only dim so are not called that.
func TestAnExchangeIsNamedUnderAnyCurve(t *testing.T) {
	exchangesAreNamed(t, 8100, func(s Spec, l *lamp, k uint64) (Decision, int) {
		l.law.Law = law.Square
		s.Curve.Law = law.Linear
		if k%2 == 1 {
			s.Curve.Law = law.Unknown
		}
		return play(start(t, s, warmWhite, nil), l)
	})
}

// exchangesAreNamed holds that of forty lamps with two emitters on each other's slots nine in ten are named within eight readings, and of
// as many sound ones none is called so.
func exchangesAreNamed(t *testing.T, first uint64, match func(s Spec, l *lamp, k uint64) (Decision, int)) {
	t.Helper()
	const runs = 40
	named := 0
	for k := range uint64(2 * runs) {
		s := sevenSpec(4, 65535)
		l := unit(s, first+k, 1)
		if k < runs {
			l.order = []int{1, 0, 2, 3}
		}
		d, n := match(s, l, k)
		switch {
		case k >= runs && d.Cause == Swapped:
			t.Errorf("sound lamp %d: %s", k, d.Reason)
		case k < runs && d.Cause == Swapped && n <= 8 && strings.Contains(d.Reason, "red and green look swapped"):
			named++
		case k < runs:
			t.Logf("lamp %d: %s, cause %q after %d: %s", k, d.Outcome, d.Cause, n, d.Reason)
		}
	}
	if named < runs*9/10 {
		t.Errorf("named in %d of %d", named, runs)
	}
}

// Of a lamp that has two blue emitters the readings may not tell which of them has the slot of another colour: the exchange is named, and the
// pair only where they do.
func TestAnExchangeNamesNoPairThatIsNotKnown(t *testing.T) {
	const runs = 40
	named, pair, another := 0, 0, 0
	for k := range uint64(runs) {
		s := sevenSpec(4+int(k%2), 65535)
		s.Emitters = append(s.Emitters, s.Emitters[2])
		s.Emitters[len(s.Emitters)-1].Name = "second blue"
		s.Channels = append(s.Channels, Channel{Name: "second blue", Max: 65535, Hi: 65535})
		l := unit(s, 9100+k, 1)
		l.order = []int{2, 1, 0, 3, 4, 5}[:len(s.Emitters)]
		d, n := play(start(t, s, warmWhite, nil), l)
		if d.Cause != Swapped || n > 8 {
			t.Logf("lamp %d: %s, cause %q after %d: %s", k, d.Outcome, d.Cause, n, d.Reason)
			continue
		}
		switch named++; {
		case strings.Contains(d.Reason, "red and blue look swapped"):
			pair++
		case !strings.Contains(d.Reason, "two emitters look swapped"):
			another++
			t.Logf("lamp %d: %s", k, d.Reason)
		}
	}
	if named < runs*9/10 || pair+another == named || another > runs/20 {
		t.Errorf("of %d exchanges %d were named, %d by their pair and %d by another", runs, named, pair, another)
	}
}

// A light that answers, but never as its mode should, is not read until nothing is left of the budget.
func TestAWrongModeEndsTheMatch(t *testing.T) {
	for k := range uint64(20) {
		s := sevenSpec(4, 65535)
		r := rand.New(rand.NewPCG(k, 1))
		var last Drive
		var uv colorcalc.UV
		d, n := playBy(start(t, s, warmWhite, nil), func(_ int, now Drive, at time.Duration) Reading {
			if !slices.Equal(now, last) {
				last, uv = now, colorcalc.UV{U: 0.15 + 0.2*r.Float64(), V: 0.4 + 0.12*r.Float64()}
			}
			return Reading{UV: uv, Y: 100, HasY: true, Drive: now, At: at}
		})
		if n > 30 || d.Outcome == Landed || d.Cause == NoCause {
			t.Errorf("lamp %d: %s, cause %q after %d readings: %s", k, d.Outcome, d.Cause, n, d.Reason)
		}
	}
}
