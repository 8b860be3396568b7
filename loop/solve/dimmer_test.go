package solve

import (
	"math"
	"testing"

	"trueup/colorcalc"
	"trueup/profiles/law"
)

// Where a head has a master dimmer, an asked level is met by it: an engine has no
// other way, and a mixture needs it for levels that its emitters can not give.
func TestLevelByTheDimmer(t *testing.T) {
	square := law.Level{Curve: law.Curve{Law: law.Square}}
	s := cctSpecFor(65535)
	s.Channels = append(s.Channels, Channel{Name: "dimmer", Max: 65535, Hi: 65535})
	s.Dimmer = &DimmerSpec{Channel: 2, Level: square}
	for k := range uint64(5) {
		e := newEngine(k, func(a, b float64) colorcalc.UV {
			return whiteAt(t, colorcalc.Kelvin(2750+3700*a), colorcalc.Duv(0.015*(2*b-1)))
		})
		e.level = func(d Drive) float64 { f := float64(d[2]) / 65535; return 800 * math.Pow(f, 2.05) }
		want := 60 + 100*float64(k)
		m, err := New(s, Target{UV: whiteAt(t, 4300, 0.002), Y: want, TolY: 0.03}, nil, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		d, n := e.play(m)
		if got := e.level(d.Drive); d.Outcome != Landed || math.Abs(got/want-1) > 0.05 {
			t.Errorf("engine %d: %s after %d readings, level %.1f of %.1f: %s", k, d.Outcome, n, got, want, d.Reason)
		}
	}
	s = sevenSpec(4, 65535)
	s.Channels = append(s.Channels, Channel{Name: "dimmer", Max: 65535, Hi: 65535})
	s.Dimmer = &DimmerSpec{Channel: 4, Level: square}
	for k := range uint64(5) {
		l := unit(s, 300+k, 1)
		full := l.light
		l.dimmed = func(d Drive) float64 { f := float64(d[4]) / 65535; return f * f }
		top := full(Drive{65535, 65535, 65535, 65535, 65535}).Y
		want := top * 0.03 // less than the emitters alone give at this colour
		m, err := New(s, Target{UV: warmWhite, Y: want, TolY: 0.05}, nil, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		d, n := play(m, l)
		if got := l.light(d.Drive).Y; d.Outcome != Landed || math.Abs(got/want-1) > 0.08 {
			t.Errorf("lamp %d: %s after %d readings, level %.2f of %.2f: %s", k, d.Outcome, n, got, want, d.Reason)
		}
	}
}

// Units of an engine teach each other as those of a mixture do, and what they know
// fits only their own kind.
func TestBatchOfEngines(t *testing.T) {
	for _, c := range []struct {
		s Spec
		f func(k float64) func(a, b float64) colorcalc.UV
	}{
		{cctSpecFor(65535), func(k float64) func(a, b float64) colorcalc.UV {
			return func(a, b float64) colorcalc.UV {
				return whiteAt(t, colorcalc.Kelvin(2800+10*k+3700*a), colorcalc.Duv(0.015*(2*b-1)+0.001))
			}
		}},
		{xySpecFor(65535), func(k float64) func(a, b float64) colorcalc.UV {
			return func(a, b float64) colorcalc.UV {
				uv := colorcalc.XY{X: math.Max(0.8*a, 0.01), Y: math.Max(0.8*b, 0.01)}.UV()
				return colorcalc.UV{U: uv.U + 0.004 + 0.0002*k, V: uv.V - 0.003}
			}
		}},
	} {
		b, err := NewBatch(c.s)
		if err != nil {
			t.Fatal(err)
		}
		for k := range 4 {
			e := newEngine(uint64(k), c.f(float64(k)))
			p, err := b.Prior(c.s)
			if err != nil {
				t.Fatal(err)
			}
			m, err := New(c.s, Target{UV: whiteAt(t, 4500, 0.003)}, p, DefaultOptions())
			if err != nil {
				t.Fatal(err)
			}
			if d, n := e.play(m); d.Outcome != Landed {
				t.Errorf("%s, unit %d: %s after %d readings: %s", c.s.Kind, k, d.Outcome, n, d.Reason)
			}
			if !b.Learn(c.s, m.Posterior()) {
				t.Errorf("%s, unit %d: nothing learnt", c.s.Kind, k)
			}
		}
		if b.Units != 4 {
			t.Errorf("%d units", b.Units)
		}
		if _, err := b.Prior(hueSpecFor(255)); err == nil {
			t.Error("a batch of another kind was taken")
		}
	}
}

// What was learnt of an engine is the start of its next match, an hour later too.
func TestKnownEngine(t *testing.T) {
	s := hueSpecFor(65535)
	e := newEngine(3, func(a, b float64) colorcalc.UV {
		m, err := New(s, Target{UV: warmWhite}, nil, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		h := m.sum.Nominal
		z := m.sum.Filter.Predict(&h.State, []float64{a, b})
		return colorcalc.UV{U: z[0] + 0.002, V: z[1] - 0.001}
	})
	first := start(t, s, colorcalc.UV{U: 0.21, V: 0.49}, nil)
	e.play(first)
	known := first.Posterior()
	known.IdleSeconds = 3600
	d, n := e.play(start(t, s, colorcalc.UV{U: 0.22, V: 0.48}, &known))
	if off := e.light(d.Drive).Dist(colorcalc.UV{U: 0.22, V: 0.48}); d.Outcome != Landed || off > 0.0015 || n > 8 {
		t.Errorf("%s after %d readings, %.4f off: %s", d.Outcome, n, off, d.Reason)
	}
}
