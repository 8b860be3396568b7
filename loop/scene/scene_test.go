package scene

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"trueup/colorcalc"
)

var noise = Noise{UV: 0.0005, LnY: 0.005}

// seen is a reading of a light with the noise of the meter.
func seen(r *rand.Rand, light colorcalc.XYZ) colorcalc.XYZ {
	uv := light.UV()
	uv.U += noise.UV * r.NormFloat64()
	uv.V += noise.UV * r.NormFloat64()
	return uv.XYZ(light.Y * math.Exp(noise.LnY*r.NormFloat64()))
}

// What the filter says of its own error is true: over many rooms in which the background
// walks, drifts or stands, the error that it gives a lamp lies within two of its stated
// standard deviations about as often as a normal error of two axes does (86.5 %), and more often, not
// less, in a room that stands still.
func TestTheDoubtOfABackgroundIsHonest(t *testing.T) {
	lamp := colorcalc.XY{X: 0.345, Y: 0.352}.XYZ(100)
	for name, rate := range map[string]float64{"stands": 0, "walks slowly": 0.0005, "walks": 0.003} {
		r := rand.New(rand.NewPCG(7, uint64(len(name))))
		inside, n := 0, 0
		for range 300 {
			light := colorcalc.XY{X: 0.44, Y: 0.40}.XYZ(30)
			now := time.Duration(0)
			pass := func(k int) (sum colorcalc.XYZ) {
				for range k {
					sum = sum.Add(seen(r, light).Scale(1 / float64(k)))
				}
				return sum
			}
			b := NewBackground(pass(5), 5, noise, now)
			for range 12 {
				dt := 10 + 20*r.Float64()
				now += time.Duration(dt * float64(time.Second))
				light = light.Scale(math.Exp(rate * math.Sqrt(dt) * r.NormFloat64()))
				got := lamp.Add(light).Sub(b.Mean()).UV()
				if sd := b.Share(lamp, now); got.Dist(lamp.UV()) <= 2*sd {
					inside++
				}
				n++
				b.Passage(times(3, func() colorcalc.XYZ { return seen(r, light) }), noise, at(now, 3))
			}
		}
		// A walk of the level alone moves the colour along one line: within 2 sd per axis of
		// tr/2 lies then P(|N| < 2√2) = 99.5 % of it, which the unknown rate takes some off.
		if got := float64(inside) / float64(n); got < 0.865 {
			t.Errorf("%s: %.1f %% within two standard deviations", name, 100*got)
		}
	}
}

// In a room that stands still the doubt goes down with every passage, and stays down; in
// one that walks it rises between them.
func TestTheRateOfWanderingIsLearnt(t *testing.T) {
	lamp := colorcalc.XY{X: 0.345, Y: 0.352}.XYZ(100)
	doubt := func(rate float64) float64 {
		r := rand.New(rand.NewPCG(3, 4))
		light := colorcalc.XY{X: 0.44, Y: 0.40}.XYZ(30)
		now := time.Duration(0)
		b := NewBackground(seen(r, light), 5, noise, now)
		for range 30 {
			now += 20 * time.Second
			light = light.Scale(math.Exp(rate * math.Sqrt(20) * r.NormFloat64()))
			b.Passage(times(3, func() colorcalc.XYZ { return seen(r, light) }), noise, at(now, 3))
		}
		return b.Share(lamp, now+20*time.Second)
	}
	still, walking := doubt(0), doubt(0.005)
	if still > 0.0002 || walking < 3*still {
		t.Errorf("doubt after thirty passages: %.5f standing still, %.5f walking", still, walking)
	}
}

// Between two passages a lamp read half way is corrected by half of what the background
// moved, and by all of it at the end.
func TestALampIsCorrectedByWhereTheBackgroundWas(t *testing.T) {
	light := colorcalc.XY{X: 0.44, Y: 0.40}.XYZ(30)
	b := NewBackground(light, 1000, noise, 0)
	mark := b.Mark()
	b.Passage(times(200, func() colorcalc.XYZ { return light.Scale(1.1) }), noise, at(100*time.Second, 200))
	for f, want := range map[time.Duration]float64{0: 30, 50 * time.Second: 31.5, 100 * time.Second: 33} {
		if mean, _ := b.Between(mark, f, light); math.Abs(mean.Y-want) > 0.1 {
			t.Errorf("after %v: %.2f lux, want %.2f", f, mean.Y, want)
		}
	}
	lamp := colorcalc.XY{X: 0.345, Y: 0.352}.XYZ(100)
	_, middle := b.Between(mark, 50*time.Second, lamp)
	_, end := b.Between(mark, 100*time.Second, lamp)
	if !(middle > 2*end) {
		t.Errorf("doubt %.5f half way, %.5f at the end", middle, end)
	}
}

// The slopes are those of the formulas, by differences.
func TestSlopesAgainstDifferences(t *testing.T) {
	at := colorcalc.XY{X: 0.41, Y: 0.37}.XYZ(50)
	uv, h := at.UV(), 1e-6
	j := chromaSlope(at)
	for axis, d := range []colorcalc.UV{{U: h}, {V: h}} {
		a := colorcalc.UV{U: uv.U + d.U, V: uv.V + d.V}.XYZ(50)
		b := colorcalc.UV{U: uv.U - d.U, V: uv.V - d.V}.XYZ(50)
		for i, want := range []float64{(a.X - b.X) / (2 * h), 0, (a.Z - b.Z) / (2 * h)} {
			if math.Abs(j[axis][i]-want) > 1e-4*(1+math.Abs(want)) {
				t.Errorf("axis %d, component %d: %g, want %g", axis, i, j[axis][i], want)
			}
		}
	}
	// tr(J P Jᵀ)/2 for P = 1 of each component alone.
	for i, e := range []colorcalc.XYZ{{X: 1}, {Y: 1}, {Z: 1}} {
		var p [9]float64
		p[4*i] = 1
		step := e.Scale(1e-5)
		want := at.Add(step).UV().Dist(at.Sub(step).UV()) / 2e-5 / math.Sqrt2
		if got := shareOf(&p, at); math.Abs(got-want) > 1e-6*want+1e-9 {
			t.Errorf("component %d: %g, want %g", i, got, want)
		}
	}
}

// A reference that warms is followed within its own stated doubt; one that stands still
// becomes known better with every passage.
func TestAReferenceIsFollowed(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	uv := colorcalc.UV{U: 0.22, V: 0.50}
	see := func(uv colorcalc.UV) colorcalc.UV {
		return colorcalc.UV{U: uv.U + 0.0004*r.NormFloat64(), V: uv.V + 0.0004*r.NormFloat64()}
	}
	still := NewReference(see(uv), 10, 0.0004, 0)
	warm := NewReference(see(uv), 10, 0.0004, 0)
	far, now, moving := 0, time.Duration(0), uv
	for range 20 {
		now += 30 * time.Second
		moving.U += 0.0001
		if got, sd := warm.Now(now); got.Dist(moving) > 3*sd {
			far++
		}
		still.Passage(passage(5, now, func() colorcalc.UV { return see(uv) }))
		warm.Passage(passage(5, now, func() colorcalc.UV { return see(moving) }))
	}
	if got, sd := still.Now(now); got.Dist(uv) > 0.0003 || sd > 0.0002 {
		t.Errorf("standing still: %.5f off, doubt %.5f", got.Dist(uv), sd)
	}
	if got, _ := warm.Now(now); got.Dist(moving) > 0.0006 || far > 4 {
		t.Errorf("warming: %.5f off at the end, beyond three standard deviations %d of 20 times", got.Dist(moving), far)
	}
}

// passage reads a light n times at once, with the noise of see.
func passage(n int, at time.Duration, see func() colorcalc.UV) (uv []colorcalc.UV, noise float64, when []time.Duration) {
	for range n {
		uv, when = append(uv, see()), append(when, at)
	}
	return uv, 0.0004, when
}

// A gel taken off is a jump: what was known before goes, and the reference counts as no more
// restless after it than it did before.
func TestAReferenceThatJumpsIsKnownAtOnce(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	uv := colorcalc.UV{U: 0.22, V: 0.50}
	see := func() colorcalc.UV {
		return colorcalc.UV{U: uv.U + 0.0004*rng.NormFloat64(), V: uv.V + 0.0004*rng.NormFloat64()}
	}
	r := NewReference(see(), 10, 0.0004, 0)
	now := time.Duration(0)
	for i := range 6 {
		now += 20 * time.Second
		if i == 4 {
			uv.U += 0.015
		}
		if jumped := r.Passage(passage(3, now, see)); jumped != (i == 4) {
			t.Errorf("passage %d: jumped %v", i+1, jumped)
		}
	}
	if got, sd := r.Now(now + 30*time.Second); got.Dist(uv) > 3*sd || sd > 0.0003 {
		t.Errorf("half a minute after the last passage: %.5f off, doubt %.5f", got.Dist(uv), sd)
	}
}

func times(n int, read func() colorcalc.XYZ) (z []colorcalc.XYZ) {
	for range n {
		z = append(z, read())
	}
	return z
}

// at is one moment for each of n readings.
func at(now time.Duration, n int) []time.Duration { return slices.Repeat([]time.Duration{now}, n) }
