package feed

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"trueup/colorcalc"
)

// Two colorimeters whose filters differ by a matrix agree after three lamps of
// different colours, also on a fourth that was not used; three whites are too
// much alike, and give an offset.
func TestAlignFindsTheMatrix(t *testing.T) {
	m := [9]float64{1.03, -0.02, 0.004, 0.01, 0.99, -0.006, -0.003, 0.012, 0.95}
	lamps := []colorcalc.XYZ{{X: 41, Y: 21, Z: 2}, {X: 36, Y: 72, Z: 12}, {X: 18, Y: 7, Z: 95}, {X: 95, Y: 100, Z: 109}}
	var pairs []Pair
	for _, c := range lamps[:3] {
		pairs = append(pairs, Pair{Ours: c, Theirs: times(m, c), HasY: true})
	}
	made := time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC)
	c, err := Align(pairs, "a", made)
	if err != nil || c.M == nil {
		t.Fatal(c, err)
	}
	r := c.Apply(Reading{UV: lamps[3].UV(), Y: lamps[3].Y, HasY: true})
	want := times(m, lamps[3])
	if r.UV.Dist(want.UV()) > 1e-9 || math.Abs(r.Y-want.Y) > 1e-6 || !r.Flags.Has(Corrected) {
		t.Errorf("fourth lamp: %+v, want %v", r, want)
	}
	path := filepath.Join(t.TempDir(), "probes.yaml")
	if err := SaveCorrections(path, map[string]Correction{"b 1": c}); err != nil {
		t.Fatal(err)
	}
	back, err := LoadCorrections(path)
	if err != nil || *back["b 1"].M != *c.M || back["b 1"].String() != c.String() {
		t.Errorf("%v came back as %v, %v", c, back, err)
	}
	whites := []Pair{{colorcalc.XYZ{X: 95, Y: 100, Z: 109}, colorcalc.XYZ{X: 96, Y: 101, Z: 109}, true},
		{colorcalc.XYZ{X: 96, Y: 100, Z: 100}, colorcalc.XYZ{X: 97, Y: 101, Z: 100}, true}, {colorcalc.XYZ{X: 97, Y: 100, Z: 90}, colorcalc.XYZ{X: 98, Y: 101, Z: 90}, true}}
	if c, err := Align(whites, "a", made); err != nil || c.M != nil || math.Abs(c.GainY-1.01) > 1e-9 {
		t.Errorf("three whites gave %+v, %v", c, err)
	}
}

// times is a matrix product written out by hand.
func times(m [9]float64, c colorcalc.XYZ) colorcalc.XYZ {
	v := [3]float64{c.X, c.Y, c.Z}
	var o [3]float64
	for i := range 9 {
		o[i/3] += m[i] * v[i%3]
	}
	return colorcalc.XYZ{X: o[0], Y: o[1], Z: o[2]}
}

// One lamp gives an offset and a gain that make both probes read the same.
func TestAlignFromOneLamp(t *testing.T) {
	ours, theirs := colorcalc.XY{X: 0.3127, Y: 0.3290}.XYZ(100), colorcalc.XY{X: 0.3150, Y: 0.3280}.XYZ(92)
	c, err := Align([]Pair{{ours, theirs, true}}, "a", time.Now())
	if err != nil || math.Abs(c.DX-0.0023) > 1e-12 || math.Abs(c.DY+0.0010) > 1e-12 || math.Abs(c.GainY-0.92) > 1e-12 || c.Left > 1e-12 {
		t.Errorf("%+v, %v", c, err)
	}
	if _, err := Align([]Pair{{ours, colorcalc.XY{X: 0.40, Y: 0.38}.XYZ(92), true}}, "a", time.Now()); err == nil {
		t.Error("probes that look at different lamps were aligned")
	}
	for _, bad := range []string{"probes: {}", "probes: {a: {to: b, made: yesterday}}", "probes: {a: {to: b, made: 2026-01-02T00:00:00Z, dx: 0.5}}",
		"probes: {a: {to: b, made: 2026-01-02T00:00:00Z, matrix: [1,1,1,1,1,1,1,1,1]}}", "probes: {a: {to: b, made: 2026-01-02T00:00:00Z, matrix: [1,2]}}"} {
		path := filepath.Join(t.TempDir(), "p.yaml")
		os.WriteFile(path, []byte(bad), 0o600)
		if _, err := LoadCorrections(path); err == nil {
			t.Errorf("%s was taken", bad)
		}
	}
}

// The measured scatter is the meter's, also while the lamp drifts slowly; and
// the drift is said.
func TestCheckTellsNoiseFromDrift(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	const sigma, sigmaY = 0.0006, 0.01
	for _, drift := range []float64{0, 0.004} {
		sum, sumY, drifts := 0.0, 0.0, 0
		const runs = 200
		for range runs {
			var rs []Reading
			for i := range 10 {
				f := float64(i) / 9
				rs = append(rs, Reading{UV: colorcalc.UV{U: 0.21 + drift*f + sigma*rng.NormFloat64(), V: 0.48 + sigma*rng.NormFloat64()},
					Y: 100 * math.Exp(sigmaY*rng.NormFloat64()), HasY: true, Received: time.Unix(int64(i), 0)})
			}
			c, err := NewCheck("", rs, ClockStatus{})
			if err != nil || c.Interval != time.Second {
				t.Fatal(c, err)
			}
			sum += c.SigmaUV * c.SigmaUV
			sumY += c.SigmaLnY * c.SigmaLnY
			if c.DriftUV > 0 {
				drifts++
			}
		}
		// 200 runs of 9 differences, two axes: the mean square is known to about 4 %.
		if got := math.Sqrt(sum / runs); math.Abs(got-sigma) > 0.08*sigma {
			t.Errorf("drift %v: sigma %v, want %v", drift, got, sigma)
		}
		if got := math.Sqrt(sumY / runs); math.Abs(got-sigmaY) > 0.1*sigmaY {
			t.Errorf("drift %v: sigma of ln Y %v, want %v", drift, got, sigmaY)
		}
		if drift == 0 && drifts > 20 || drift > 0 && drifts < 150 {
			t.Errorf("drift %v was seen in %d of %d", drift, drifts, runs)
		}
	}
}

// The readings asked for are those of the laboratory's table, and a tolerance
// that the meter can not carry is said before the run.
func TestCheckSaysWhatTheMeterCarries(t *testing.T) {
	for sigma, want := range map[float64]int{0.0002: 1, 0.0003: 1, 0.0005: 2, 0.0008: 4, 0.0010: 6} {
		if got := (Check{SigmaUV: sigma}).ReadingsFor(0.0010); got != want {
			t.Errorf("sigma %v: %d readings, want %d", sigma, got, want)
		}
	}
	good := Check{SigmaUV: 0.0003, LatencyKnown: true}
	if a := good.Advice(0.001); len(a) != 0 {
		t.Errorf("a good meter gets advice: %v", a)
	}
	bad := Check{SigmaUV: 0.003, LatencyKnown: true, Clock: ClockStatus{Stamped: true, Delay: time.Hour}}
	if a := bad.Advice(0.001); len(a) != 2 {
		t.Errorf("a noisy meter with a foreign clock gets %v", a)
	}
}

// The step of light bounds the latency from above, whatever the meter does
// inside: a meter that averages 200 ms and takes 150 ms to speak.
func TestStepBoundsTheLatency(t *testing.T) {
	const integration, latency = 200 * time.Millisecond, 150 * time.Millisecond
	for shift := range 20 {
		step := time.Unix(1000, int64(shift)*11e6)
		old, new := colorcalc.XYZ{X: 95, Y: 100, Z: 109}, colorcalc.XYZ{X: 100, Y: 104, Z: 100}
		var rs []Reading
		for i := range 12 {
			end := time.Unix(1000, 0).Add(time.Duration(i) * integration)
			f := math.Min(1, math.Max(0, float64(end.Sub(step))/float64(integration)))
			c := old.Scale(1 - f).Add(new.Scale(f))
			rs = append(rs, Reading{UV: c.UV(), Y: c.Y, HasY: true, Received: end.Add(latency)})
		}
		c := Check{Mean: old.UV(), MeanY: 100, SigmaUV: 0.0001, SigmaLnY: 0.001}
		var after []Reading
		for _, r := range rs {
			if !r.Received.Before(step) {
				after = append(after, r)
			}
		}
		ok, seen := c.judgeStep(after, step)
		if !ok {
			t.Fatalf("shift %d: the step was not seen", shift)
		}
		// At most one integration above the truth, plus what the noise hides of a step.
		if seen.latency < latency || seen.latency > latency+integration+30*time.Millisecond {
			t.Errorf("shift %d: latency %v, want %v to %v", shift, seen.latency, latency, latency+integration)
		}
		if seen.settled < seen.latency || seen.settled > latency+2*integration {
			t.Errorf("shift %d: settled after %v", shift, seen.settled)
		}
	}
}

// A check is of one probe, also where an instrument has several.
func TestACheckKeepsProbesApart(t *testing.T) {
	f, w := openWire(t, Config{Name: "two"})
	go func() {
		for i := range 10 {
			w.later(t.Context(), 0, func() string { return fmt.Sprintf(`{"probe":"a","x":0.31,"y":0.33,"lux":10%d}`, i%2) })
			w.later(t.Context(), 0, func() string { return `{"probe":"b","x":0.45,"y":0.41,"lux":900}` })
		}
	}()
	c, err := Measure(soon(t), f, "", 8)
	if err != nil {
		t.Fatal(err)
	}
	if c.Probe != "a" || !(c.SigmaUV < 1e-9) || !(c.SigmaLnY < 0.02) {
		t.Errorf("%+v", c)
	}
}
