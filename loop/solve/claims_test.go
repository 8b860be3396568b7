package solve

import (
	"math"
	"slices"
	"testing"
	"time"

	"trueup/profiles/law"
)

// What the estimate claims to know agrees with the truth: squared innovations
// average one per axis, and the circle or ellipse that is said to hold a share
// of the true errors holds about that share. Too little knowledge claimed costs
// readings, too much calls misses landings; the bounds allow for the sample.
func TestClaimsAgainstTruth(t *testing.T) {
	const lamps = 150
	sum, axes := 0.0, 0
	levels := []float64{0.50, 0.90, 0.95, 0.99}
	inside := make([]int, len(levels))
	n := 0
	for k := range uint64(lamps) {
		s := sevenSpec(3+int(k%5), 65535)
		s.Curve.Law = law.Law(1 + k%4)
		l := unit(s, 3000+k, 1)
		m := start(t, s, warmWhite, nil)
		var now Drive
		for at := time.Second; ; at += time.Second {
			d := m.Next(at)
			if d.Action == Done {
				break
			}
			if d.Action == Move {
				now = d.Drive
			}
			scaled := m.sum.LevelKnown
			a := m.Observe(l.read(now, at))
			if a.Verdict == Accepted && scaled {
				sum += a.Mahalanobis
				axes += a.Axes
			}
		}
		uv, c := m.sum.Mean(m.stand.d)
		truth := l.light(m.stand.codes).UV()
		du, dv := truth.U-uv.U, truth.V-uv.V
		det := c.UU*c.VV - c.UV*c.UV
		q := (c.VV*du*du - 2*c.UV*du*dv + c.UU*dv*dv) / det
		for i, p := range levels {
			if q <= -2*math.Log(1-p) { // chi-square with two degrees of freedom
				inside[i]++
			}
		}
		n++
	}
	if nis := sum / float64(axes); nis < 0.6 || nis > 1.3 {
		t.Errorf("mean squared innovation per axis %.2f, should be about 1", nis)
	}
	for i, p := range levels {
		got := float64(inside[i]) / float64(n)
		slack := 3*math.Sqrt(p*(1-p)/float64(n)) + 0.02
		if got < p-slack || got > p+slack+0.12*(1-p)*4 {
			t.Errorf("the %.0f %% ellipse holds %.1f %%", 100*p, 100*got)
		}
		t.Logf("%.0f %%: %.1f %%", 100*p, 100*got)
	}
	t.Logf("mean squared innovation per axis %.2f", sum/float64(axes))
}

// The probability of landing is not a guess: of the lamps called landed, at
// least the asked share is truly within tolerance.
func TestConfidenceIsKept(t *testing.T) {
	for _, conf := range []float64{0.80, 0.95} {
		in, landed := 0, 0
		for k := range uint64(150) {
			s := sevenSpec(4, 65535)
			l := unit(s, 7000+k, 1)
			l.sigma = 0.0006
			o := DefaultOptions()
			o.Confidence = conf
			m, err := New(s, Target{UV: warmWhite}, nil, o)
			if err != nil {
				t.Fatal(err)
			}
			d, _ := play(m, l)
			if d.Outcome == Landed {
				landed++
				in += int(b2f(l.light(d.Drive).UV().Dist(warmWhite) <= 0.001))
			}
		}
		if share := float64(in) / float64(landed); share < conf-0.03 {
			t.Errorf("asked for %.2f, got %.3f", conf, share)
		}
	}
}

func benchmarkStep(b *testing.B, n int) {
	s := sevenSpec(n, 65535)
	var m *Match
	var l *lamp
	var now Drive
	at := time.Duration(0)
	k := uint64(0)
	b.ReportAllocs()
	for b.Loop() {
		if m == nil {
			b.StopTimer()
			l = unit(s, k, 1)
			m = start(b, s, warmWhite, nil)
			k++
			b.StartTimer()
		}
		d := m.Next(at)
		if d.Action == Done {
			m = nil
			continue
		}
		if d.Action == Move {
			now = d.Drive
		}
		at += time.Second
		m.Observe(l.read(now, at))
	}
}

// One step is Next and Observe.
func BenchmarkStep4(b *testing.B)  { benchmarkStep(b, 4) }
func BenchmarkStep6(b *testing.B)  { benchmarkStep(b, 6) }
func BenchmarkStep7(b *testing.B)  { benchmarkStep(b, 7) }
func BenchmarkStep12(b *testing.B) { benchmarkStep(b, 12) }

// Whatever the meter says, the match neither panics nor leaves the allowed
// codes, and what it knows stays finite.
func FuzzObserve(f *testing.F) {
	f.Add(0.2, 0.47, 120.0, 0.0004, 1e-4, uint32(40000), int64(1e9))            // usual
	f.Add(0.2, 0.47, 0.0, 0.0, 0.0, uint32(0), int64(0))                        // dark
	f.Add(0.69, 0.01, 1e300, 1e-12, 1.0, uint32(65535), int64(-5))              // absurd but possible
	f.Add(math.NaN(), math.Inf(1), -1.0, math.NaN(), -1.0, uint32(1), int64(1)) // not numbers
	f.Fuzz(func(t *testing.T, u, v, y, sigma, round float64, code uint32, at int64) {
		for _, s := range []Spec{sevenSpec(4, 65535), cctSpecFor(65535), hueSpecFor(255)} {
			m, err := New(s, Target{UV: warmWhite}, nil, DefaultOptions())
			if err != nil {
				t.Fatal(err)
			}
			for k := range 4 {
				d := m.Next(time.Duration(at))
				mustBeAllowed(t, s, d)
				r := Reading{Y: y, HasY: k%2 == 0, SigmaUV: sigma, SigmaLnY: sigma, RoundXY: round, At: time.Duration(at)}
				r.UV.U, r.UV.V = u, v
				if k == 2 {
					r.Drive = slices.Repeat(Drive{code}, len(s.Channels))
				}
				if a := m.Observe(r); math.IsNaN(a.P) || a.P < 0 || a.P > 1.0001 {
					t.Fatalf("P %g", a.P)
				}
				if d.Action == Done {
					break
				}
			}
			mustBeFinite(t, m)
		}
	})
}

func mustBeAllowed(t *testing.T, s Spec, d Decision) {
	t.Helper()
	if d.Drive == nil || d.Action == Done {
		return
	}
	for i, c := range s.Channels {
		if d.Drive[i] < c.Lo || d.Drive[i] > c.Hi {
			t.Fatalf("code %d outside %d..%d", d.Drive[i], c.Lo, c.Hi)
		}
	}
}

func mustBeFinite(t *testing.T, m *Match) {
	t.Helper()
	for _, h := range m.sum.Components {
		for _, x := range h.X {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatal("the state is not finite")
			}
		}
	}
}
