package solve

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve/num"
)

// engine is a lamp with two parameters for tests: any function from the two
// fractions to u'v', read by a noisy meter.
type engine struct {
	f     func(a, b float64) colorcalc.UV
	sigma float64
	rng   *rand.Rand
	sent  func(Drive)         // sees every drive, where given
	level func(Drive) float64 // as the meter has it, where it is not 100
}

func (e *engine) light(d Drive) colorcalc.UV {
	return e.f(float64(d[0])/65535, float64(d[1])/65535)
}

func (e *engine) play(m *Match) (d Decision, readings int) {
	at := time.Duration(0)
	var now Drive
	for ; ; readings++ {
		if d = m.Next(at); d.Action == Done || readings > 200 {
			return d, readings
		}
		if d.Action == Move {
			now = d.Drive
			if e.sent != nil {
				e.sent(now)
			}
		}
		at += time.Second
		uv := e.light(now)
		uv.U += e.sigma * e.rng.NormFloat64()
		uv.V += e.sigma * e.rng.NormFloat64()
		y := 100.0
		if e.level != nil {
			y = e.level(now)
		}
		m.Observe(Reading{UV: uv, Y: y, HasY: true, SigmaUV: e.sigma, SigmaLnY: 0.006, At: at, Drive: now})
	}
}

func newEngine(seed uint64, f func(a, b float64) colorcalc.UV) *engine {
	return &engine{f: f, sigma: 0.0003, rng: rand.New(rand.NewPCG(seed, 5))}
}

// whiteAt is the chromaticity at a temperature and Duv by colorcalc.
func whiteAt(t *testing.T, k colorcalc.Kelvin, duv colorcalc.Duv) colorcalc.UV {
	t.Helper()
	xy, err := colorcalc.White(k, duv)
	if err != nil {
		t.Fatal(err)
	}
	return xy.UV()
}

// Past the warm end, on an engine whose green gives way there: at the end of
// the range the tint turns round at a third of its scale, which no scale says.
// The nearest point is found all the same, to a tolerance, by less than a dozen
// readings, and the target is called out of reach.
func TestNearestOfAnEngineThatGivesWay(t *testing.T) {
	found := 0
	const runs = 30
	for k := range uint64(runs) {
		r := rand.New(rand.NewPCG(k, 6))
		bias, turn := 20*r.NormFloat64(), 0.25+0.2*r.Float64()
		e := newEngine(k, func(a, b float64) colorcalc.UV {
			kelvin := 2700 + 3800*a + bias
			duv := 0.015 * (2*b - 1)
			if a < 0.1 {
				top := 0.015 * (2*turn - 1)
				duv = top - math.Abs(duv-top)*0.6
			}
			return whiteAt(t, colorcalc.Kelvin(kelvin), colorcalc.Duv(duv))
		})
		target := whiteAt(t, 2450, colorcalc.Duv(0.012*(2*r.Float64()-1)))
		best := math.Inf(1)
		for a := 0.0; a <= 1; a += 0.005 {
			for b := 0.0; b <= 1; b += 0.005 {
				best = min(best, e.f(a, b).Dist(target))
			}
		}
		o := DefaultOptions()
		o.SigmaUV = e.sigma
		m, err := New(cctSpecFor(65535), Target{UV: target}, nil, o)
		if err != nil {
			t.Fatal(err)
		}
		d, n := e.play(m)
		if d.Outcome != OutOfReach || n > 12 {
			t.Errorf("engine %d: %s after %d readings: %s", k, d.Outcome, n, d.Reason)
		}
		if off := e.light(d.Drive).Dist(target) - best; off <= 0.001 {
			found++
		} else {
			t.Logf("engine %d ends %.4f beyond the best possible", k, off)
		}
	}
	if found < runs*5/6 { // the bench in loop/looptest has the sharper figure
		t.Errorf("the nearest point was found on %d of %d engines", found, runs)
	}
}

// A lamp that does not answer is not taken for one at the end of its range.
func TestSilentPastItsRange(t *testing.T) {
	for k := range uint64(10) {
		stuck := whiteAt(t, 3200, 0.001)
		e := newEngine(k, func(a, b float64) colorcalc.UV { return stuck })
		m, err := New(cctSpecFor(65535), Target{UV: whiteAt(t, 2400, 0.004)}, nil, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		if d, n := e.play(m); d.Outcome != Held || d.Cause != NotAnswering || n > 10 {
			t.Errorf("lamp %d: %s, cause %q after %d readings: %s", k, d.Outcome, d.Cause, n, d.Reason)
		}
	}
}

// A lamp that changes its mixture where the target lies jumps over it. The match
// ends soon, says so, and stands at the better side.
func TestLampThatJumpsOverTheTarget(t *testing.T) {
	named := 0
	for k := range uint64(20) {
		r := rand.New(rand.NewPCG(k, 8))
		target := colorcalc.XY{X: 0.36, Y: 0.37}.UV()
		near, far := 0.003+0.002*r.Float64(), 0.012+0.006*r.Float64()
		cut := 0.001 * r.NormFloat64()
		e := newEngine(k, func(a, b float64) colorcalc.UV {
			uv := colorcalc.XY{X: math.Max(0.8*a, 0.01), Y: math.Max(0.8*b, 0.01)}.UV()
			if uv.U < target.U+cut {
				uv.U -= near
			} else {
				uv.U += far
			}
			return uv
		})
		o := DefaultOptions()
		o.SigmaUV = e.sigma
		m, err := New(xySpecFor(65535), Target{UV: target}, nil, o)
		if err != nil {
			t.Fatal(err)
		}
		d, n := e.play(m)
		if d.Outcome == Landed || n > 30 {
			t.Errorf("lamp %d: %s after %d readings, %.4f off", k, d.Outcome, n, e.light(d.Drive).Dist(target))
			continue
		}
		if off := e.light(d.Drive).Dist(target); off > (near+far)/2 {
			t.Errorf("lamp %d stands on the worse side, %.4f off: %s", k, off, d.Reason)
		}
		if d.Cause == Jumps && strings.Contains(d.Reason, "jumps") {
			named++
		} else {
			t.Logf("lamp %d: %s", k, d.Reason)
		}
	}
	if named < 15 {
		t.Errorf("named in %d of 20", named)
	}
}

// Searching past the gamut of an xy mode, too, x and y of no colour are never
// asked for: many lamps go dark there.
func TestSeekingAsksForNoDarkness(t *testing.T) {
	edge := []colorcalc.UV{red, green, blue}
	sought := false
	for k := range uint64(40) {
		r := rand.New(rand.NewPCG(k, 21))
		e := newEngine(k, func(a, b float64) colorcalc.UV {
			uv := colorcalc.XY{X: math.Max(0.8*a, 0.005), Y: math.Max(0.8*b, 0.005)}.UV()
			uv = num.Into(num.Hull(edge), uv)
			return colorcalc.UV{U: uv.U + 0.01*math.Sin(30*a), V: uv.V + 0.01*math.Cos(40*b)}
		})
		target := colorcalc.XY{X: 0.08 + 0.1*r.Float64(), Y: 0.01 + 0.02*r.Float64()}.UV()
		m, err := New(xySpecFor(65535), Target{UV: target}, nil, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		e.sent = func(d Drive) {
			for i, c := range d {
				if at := 0.8 * float64(c) / 65535; at < 0.03-0.8/65535 {
					t.Errorf("lamp %d: parameter %d at %.4f", k, i, at)
				}
			}
		}
		e.play(m)
		sought = sought || m.search.count[looked] > 0
	}
	if !sought {
		t.Error("no lamp was sought past its gamut: this test proves nothing")
	}
}

// A memory returns what was read where it was read, to the noise of it, knows
// less the farther away, and never claims more than before any reading.
func TestMemoryOfReadings(t *testing.T) {
	m, err := New(cctSpecFor(65535), Target{UV: whiteAt(t, 4000, 0)}, nil, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	drives := []Drive{{10000, 30000}, {30000, 20000}, {50000, 60000}}
	at := time.Second
	for i, d := range drives {
		uv := whiteAt(t, colorcalc.Kelvin(3000+700*float64(i)), 0.004)
		m.Observe(Reading{UV: uv, SigmaUV: 0.0003, At: at, Drive: d})
		at += time.Second
	}
	mem := m.edge.(*seek).process(m)
	for i, d := range drives {
		u, v, s2 := mem.At(m.fractions(d))
		read := m.log.taken[i].r.UV
		if off := math.Hypot(u-read.U, v-read.V); m.log.taken[i].verdict == Accepted && off > 3*0.0003 {
			t.Errorf("drive %v is remembered %.5f off", d, off)
		}
		if m.log.taken[i].verdict == Accepted && s2 > 0.0003*0.0003*1.01 {
			t.Errorf("variance %.3g at a drive that was read", s2)
		}
	}
	last := 0.0
	for _, step := range []uint32{0, 200, 1000, 4000, 10000} {
		_, _, s2 := mem.At(m.fractions(Drive{30000 - step, 20000}))
		if s2 < last {
			t.Errorf("variance %.3g at %d codes away, %.3g nearer", s2, step, last)
		}
		last = s2
	}
}

// BenchmarkSeek is one decision of the search past a range, ten drives known.
func BenchmarkSeek(b *testing.B) {
	m, err := New(cctSpecFor(65535), Target{UV: colorcalc.XY{X: 0.50, Y: 0.42}.UV()}, nil, DefaultOptions())
	if err != nil {
		b.Fatal(err)
	}
	for k := range uint32(10) {
		d := Drive{6000 * k, 65535 - 5000*k}
		xy, err := colorcalc.White(colorcalc.Kelvin(2700+300*float64(k)), colorcalc.Duv(0.01-0.002*float64(k)))
		if err != nil {
			b.Fatal(err)
		}
		m.Observe(Reading{UV: xy.UV(), SigmaUV: 0.0005, At: time.Duration(k) * time.Second, Drive: d})
	}
	b.ReportAllocs()
	for b.Loop() {
		m.search = search{phase: seeking}
		m.edge.(*seek).improve(m, 0)
	}
}
