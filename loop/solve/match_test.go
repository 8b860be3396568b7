package solve

import (
	"encoding/json"
	"math"
	"reflect"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve/model"
	"trueup/profiles/law"
)

var warmWhite = colorcalc.XY{X: 0.42, Y: 0.40}.UV()

func start(t testing.TB, s Spec, uv colorcalc.UV, p *Prior) *Match {
	t.Helper()
	m, err := New(s, Target{UV: uv}, p, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// A lamp of a usual bin lands in a handful of readings, and what is called
// landed is within one and a half tolerances.
func TestLampsLand(t *testing.T) {
	total, inside := 0, 0
	const runs = 120
	for k := range uint64(runs) {
		s := sevenSpec(3+int(k%5), 65535)
		s.Curve.Law = law.Law(1 + k%4)
		l := unit(s, k, 1)
		d, n := play(start(t, s, warmWhite, nil), l)
		err := l.light(d.Drive).UV().Dist(warmWhite)
		if d.Outcome != Landed || err > 0.0015 {
			t.Errorf("lamp %d: %s after %d readings, truly %.4f off (%s)", k, d.Outcome, n, err, d.Reason)
		}
		total += n
		inside += int(b2f(err <= 0.001))
	}
	if mean := float64(total) / runs; mean > 4.6 {
		t.Errorf("%.2f readings on average", mean)
	}
	if inside < runs*95/100 {
		t.Errorf("only %d of %d landed lamps are inside the tolerance", inside, runs)
	}
}

// Limits come as ranges of codes: nothing outside is ever asked for.
func TestNoCodeOutsideItsRange(t *testing.T) {
	for k := range uint64(40) {
		s := sevenSpec(4+int(k%3), []uint32{255, 65535}[k%2])
		s.Channels[0].Hi = s.Channels[0].Max / 3
		s.Channels[2].Lo = s.Channels[2].Max / 50
		s.Channels[3].Hi = s.Channels[3].Lo
		l := unit(s, k, 1)
		m := start(t, s, colorcalc.UV{U: 0.14 + 0.004*float64(k), V: 0.46}, nil)
		var now Drive
		for at := time.Second; ; at += time.Second {
			d := m.Next(at)
			if d.Action == Done {
				break
			}
			if d.Action == Move {
				now = d.Drive
			}
			for i, c := range s.Channels {
				if now[i] < c.Lo || now[i] > c.Hi {
					t.Fatalf("lamp %d: channel %d asked for %d, allowed %d..%d", k, i, now[i], c.Lo, c.Hi)
				}
			}
			m.Observe(l.read(now, at))
		}
	}
}

// What was sent may differ from what was asked: the match learns from what was
// sent and still lands.
func TestDriveSentDiffersFromDriveAsked(t *testing.T) {
	s := sevenSpec(4, 65535)
	l := unit(s, 3, 1)
	m := start(t, s, warmWhite, nil)
	var sent Drive
	moves := 0
	for at := time.Second; ; at += time.Second {
		d := m.Next(at)
		if d.Action == Done {
			if e := l.light(sent).UV().Dist(warmWhite); d.Outcome != Landed || e > 0.0015 {
				t.Fatalf("%s, truly %.4f off: %s", d.Outcome, e, d.Reason)
			}
			if !reflect.DeepEqual(d.Drive, sent) {
				t.Fatalf("says it stands at %v, stands at %v", d.Drive, sent)
			}
			return
		}
		if d.Action == Move {
			sent = append(Drive(nil), d.Drive...)
			if moves++; moves == 1 {
				for i := range sent {
					sent[i] = sent[i] * 7 / 10 // a limit got in between
				}
			}
		}
		m.Observe(l.read(sent, at))
	}
}

// A target outside the gamut ends at the nearest point, honestly named.
func TestOutOfGamut(t *testing.T) {
	for k := range uint64(12) {
		s := sevenSpec(3, 65535)
		l := unit(s, k, 1)
		goal := colorcalc.UV{U: 0.06, V: 0.50} // a cyan beyond green and blue
		d, n := play(start(t, s, goal, nil), l)
		if d.Outcome != OutOfReach || n > 10 {
			t.Errorf("lamp %d: %s after %d readings: %s", k, d.Outcome, n, d.Reason)
			continue
		}
		best := math.Inf(1)
		for g := range 200 {
			for r := range 20 {
				c := Drive{uint32(r * 300), uint32(65535 * (g + 1) / 200), 65535}
				best = math.Min(best, l.light(c).UV().Dist(goal))
				c = Drive{uint32(r * 300), 65535, uint32(65535 * (g + 1) / 200)}
				best = math.Min(best, l.light(c).UV().Dist(goal))
			}
		}
		if e := l.light(d.Drive).UV().Dist(goal); e > best+0.001 {
			t.Errorf("lamp %d: ends %.4f off, %.4f was possible", k, e, best)
		}
		if math.Abs(d.Distance-best) > 0.003 {
			t.Errorf("lamp %d: says %.4f off, %.4f was possible", k, d.Distance, best)
		}
	}
}

// Eight bits: within the best lattice point and a little, or landed.
func TestEightBits(t *testing.T) {
	for k := range uint64(25) {
		s := sevenSpec(4, 255)
		s.Curve.Law = law.Square
		l := unit(s, k, 1)
		d, n := play(start(t, s, warmWhite, nil), l)
		if e := l.light(d.Drive).UV().Dist(warmWhite); e > 0.0015 || n > 20 {
			t.Errorf("lamp %d: %s, %.4f off after %d readings", k, d.Outcome, e, n)
		}
	}
}

// The same inputs give the same decisions, bit for bit.
func TestSameInputsSameDecisions(t *testing.T) {
	for _, goal := range []colorcalc.UV{warmWhite, {U: 0.06, V: 0.50}} {
		run := func() (all []any) {
			s := sevenSpec(5, 65535)
			l := unit(s, 11, 1)
			m := start(t, s, goal, nil)
			var now Drive
			for at := time.Second; ; at += time.Second {
				d := m.Next(at)
				all = append(all, d)
				if d.Action == Done {
					return append(all, m.Posterior())
				}
				if d.Action == Move {
					now = d.Drive
				}
				all = append(all, m.Observe(l.read(now, at)))
			}
		}
		if a, b := run(), run(); !reflect.DeepEqual(a, b) {
			t.Error("two runs differ")
		}
	}
}

// What was learnt of a unit survives JSON exactly, and is worth something: the
// next colour takes fewer readings.
func TestPosteriorRoundTripAndWorth(t *testing.T) {
	fresh, known := 0, 0
	for k := range uint64(30) {
		s := sevenSpec(5, 65535)
		l := unit(s, 100+k, 1)
		m := start(t, s, warmWhite, nil)
		play(m, l)
		p := m.Posterior()
		for _, uv := range []colorcalc.UV{{U: 0.19, V: 0.50}, {U: 0.24, V: 0.46}, model.D65} {
			raw, err := json.Marshal(p)
			if err != nil {
				t.Fatal(err)
			}
			var q Prior
			if err := json.Unmarshal(raw, &q); err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(p, q) {
				t.Fatal("JSON changed the posterior")
			}
			m := start(t, s, uv, &q)
			_, n := play(m, l)
			p = m.Posterior()
			known += int(b2f(uv == model.D65)) * n
		}
		_, n := play(start(t, s, model.D65, nil), unit(s, 100+k, 1))
		fresh += n
	}
	if known >= fresh {
		t.Errorf("fourth colour of known units took %d readings, fresh ones %d", known, fresh)
	}
}

// A prior of another head, or a damaged one, is refused with a way out.
func TestForeignPriorsAreRefused(t *testing.T) {
	s := sevenSpec(4, 65535)
	m := start(t, s, model.D65, nil)
	good := m.Posterior()
	other := start(t, sevenSpec(5, 65535), model.D65, nil).Posterior()
	bent := m.Posterior()
	bent.Hypotheses[1].Cov[3] = math.NaN()
	short := m.Posterior()
	short.Hypotheses[0].Mean = short.Hypotheses[0].Mean[1:]
	law := m.Posterior()
	law.Hypotheses[0].Law = 77
	for name, p := range map[string]*Prior{"other": &other, "NaN": &bent, "short": &short, "law": &law, "empty": {}} {
		if _, err := New(s, Target{UV: model.D65}, p, DefaultOptions()); err == nil {
			t.Errorf("%s prior was taken", name)
		}
	}
	if _, err := New(s, Target{UV: model.D65}, &good, DefaultOptions()); err != nil {
		t.Error(err)
	}
}

// Readings that are no light change nothing; wild ones do not break the match.
func TestAbsurdReadings(t *testing.T) {
	s := sevenSpec(4, 65535)
	l := unit(s, 5, 1)
	m := start(t, s, warmWhite, nil)
	now := m.Next(0).Drive
	m.Observe(l.read(now, time.Second))
	before := m.Posterior()
	nan, inf := math.NaN(), math.Inf(1)
	for _, r := range []Reading{
		{}, {UV: colorcalc.UV{U: nan, V: 0.4}}, {UV: colorcalc.UV{U: 0.2, V: inf}}, {UV: colorcalc.UV{U: -1, V: 0.5}},
		{UV: model.D65, HasY: true, Y: nan}, {UV: model.D65, HasY: true, Y: -3}, {UV: model.D65, HasY: true, Y: 0}, {UV: model.D65, Drive: Drive{1}},
	} {
		if a := m.Observe(r); a.Verdict != Refused || a.Words == "" {
			t.Errorf("%+v: %s %q", r, a.Verdict, a.Words)
		}
	}
	if !reflect.DeepEqual(before, m.Posterior()) {
		t.Error("a refused reading changed what is known")
	}
	wild := l.read(now, 2*time.Second)
	wild.UV = colorcalc.UV{U: 0.5, V: 0.2}
	if a := m.Observe(wild); a.Verdict != Outlier {
		t.Errorf("0.3 off is %s", a.Verdict)
	}
	for at := 3 * time.Second; ; at += time.Second {
		d := m.Next(at)
		if d.Action == Done {
			if e := l.light(now).UV().Dist(warmWhite); d.Outcome != Landed || e > 0.0015 {
				t.Errorf("%s, %.4f off", d.Outcome, e)
			}
			return
		}
		if d.Action == Move {
			now = d.Drive
		}
		m.Observe(l.read(now, at))
	}
}

// The digits of before the move, read again after it, are an old reading.
func TestStaleReadingIsSetAside(t *testing.T) {
	s := sevenSpec(4, 65535)
	l := unit(s, 6, 1)
	m := start(t, s, warmWhite, nil)
	r := l.read(m.Next(0).Drive, time.Second)
	m.Observe(r)
	d := m.Next(time.Second)
	if d.Action != Move {
		t.Skip("this lamp stood right at once")
	}
	r.Drive, r.At = d.Drive, 2*time.Second
	if a := m.Observe(r); a.Verdict != Stale {
		t.Errorf("verdict %s", a.Verdict)
	}
}

// No tolerance below the meter is claimed: a noisy meter ends as unsettled,
// with its reason.
func TestNoisyMeterIsUnsettled(t *testing.T) {
	s := sevenSpec(4, 65535)
	l := unit(s, 8, 1)
	l.sigma = 0.006
	d, n := play(start(t, s, warmWhite, nil), l)
	if d.Outcome != Unsettled || d.Cause != MeterNoise || n > 40 {
		t.Errorf("%s (%s) after %d readings: %s", d.Outcome, d.Cause, n, d.Reason)
	}
}

// Without any reading a match ends by itself.
func TestSilentMeterEnds(t *testing.T) {
	m := start(t, sevenSpec(4, 65535), model.D65, nil)
	for n := 0; n < 50; n++ {
		if d := m.Next(time.Duration(n) * time.Second); d.Action == Done {
			if d.Outcome != Unsettled || d.Reason == "" {
				t.Errorf("%s: %q", d.Outcome, d.Reason)
			}
			return
		}
	}
	t.Error("asked fifty times for a reading that never came")
}

// The level that is asked for is met, where the lamp has it.
func TestLevelIsMet(t *testing.T) {
	for k := range uint64(12) {
		s := sevenSpec(5, 65535)
		l := unit(s, 40+k, 1)
		top := 0.0
		for i := range s.Emitters {
			top += l.flux[i] * l.lux
		}
		want := 0.25 * top
		m, err := New(s, Target{UV: warmWhite, Y: want, TolY: 0.03}, nil, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		d, _ := play(m, l)
		q := l.light(d.Drive)
		if d.Outcome != Landed || q.UV().Dist(warmWhite) > 0.0015 || math.Abs(q.Y/want-1) > 0.06 {
			t.Errorf("lamp %d: %s, %.4f off, level %.3f of what was asked", k, d.Outcome, q.UV().Dist(warmWhite), q.Y/want)
		}
	}
}

// The clock may start anywhere: a match in the tenth minute of a run goes like
// one in the first.
func TestClockMayStartAnywhere(t *testing.T) {
	run := func(from time.Duration) (all []Drive) {
		s := sevenSpec(5, 65535)
		l := unit(s, 12, 1)
		m := start(t, s, warmWhite, nil)
		for at := from; ; at += time.Second {
			d := m.Next(at)
			all = append(all, d.Drive)
			if d.Action == Done {
				return all
			}
			m.Observe(l.read(d.Drive, at+time.Second/2))
		}
	}
	if a, b := run(0), run(10*time.Minute); !reflect.DeepEqual(a, b) {
		t.Errorf("%v\n%v", a, b)
	}
}

// A move whose reading never came is asked about again, and never decided on.
func TestLostReadingAfterAMove(t *testing.T) {
	s := sevenSpec(4, 65535)
	l := unit(s, 13, 1)
	m := start(t, s, warmWhite, nil)
	m.Observe(l.read(m.Next(0).Drive, time.Second))
	d := m.Next(time.Second)
	for d.Action != Move {
		m.Observe(l.read(d.Drive, 2*time.Second))
		if d = m.Next(2 * time.Second); d.Action == Done {
			t.Skip("this lamp stood right at once")
		}
	}
	for range 3 {
		if again := m.Next(3 * time.Second); again.Action != Again || !reflect.DeepEqual(again.Drive, d.Drive) {
			t.Fatalf("%s %v, was sent to %v", again.Action, again.Drive, d.Drive)
		}
	}
}

// Where a target needs an emitter lower than it is usually driven, that is tried.
// A lamp that is dark there is found out, and nothing is called landed for it.
func TestAnEmitterBelowItsUsualLeast(t *testing.T) {
	for _, cut := range []float64{0, 0.0145} {
		landed, shallow := 0, 0
		const lamps = 30
		for k := range uint64(lamps) {
			s := sevenSpec(3, 65535)
			l := unit(s, 8000+k, 1)
			target := l.light(Drive{52000, 840 + uint32(k), 30000}).UV() // green at 1.3 %
			l.cut = cut
			// The lamp is known: beside an unknown one the little light is nothing.
			first := start(t, s, l.light(Drive{52000, 4000, 30000}).UV(), nil)
			play(first, l)
			known := first.Posterior()
			known.IdleSeconds = 0.1
			m := start(t, s, target, &known)
			d, n := play(m, l)
			off := l.light(d.Drive).UV().Dist(target)
			if d.Outcome == Landed {
				landed++
				if off > 0.0015 {
					t.Errorf("cut %g, lamp %d: landed %.4f off", cut, k, off)
				}
			}
			if n > 25 {
				t.Errorf("cut %g, lamp %d: %d readings", cut, k, n)
			}
			if tookForDark(m) {
				shallow++
			}
		}
		if cut == 0 && (landed < lamps*9/10 || shallow > 0) {
			t.Errorf("%d of %d landed, %d were taken for dark", landed, lamps, shallow)
		}
		// Not every lamp has to be asked for so little.
		if cut > 0 && shallow < 4 {
			t.Errorf("only %d dark lamps were found out", shallow)
		}
	}
}

// tookForDark reports whether an emitter that was driven counted as dark.
func tookForDark(m *Match) bool {
	for _, t := range m.log.taken {
		for i, d := range t.d {
			if d == 0 && t.r.Drive[i] > 0 {
				return true
			}
		}
	}
	return false
}
