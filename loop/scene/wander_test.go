package scene

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"trueup/colorcalc"
)

// A level that swings is told from one that is switched, whatever part of a swing or of a beat is seen, and from noise.
func TestASwingIsToldFromASwitch(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 2))
	const sd = 0.05
	for range 2000 {
		n := 3 + r.IntN(40)
		lux := func(at func(i int) float64) []float64 {
			all := make([]float64, n)
			for i := range all {
				all[i] = at(i) + sd*r.NormFloat64()
			}
			return all
		}
		if still := lux(func(int) float64 { return 20 }); Swings(still, sd, 0) {
			t.Fatalf("noise swings: %.2f", still)
		}
		k, high := 1+r.IntN(n-1), 3+20*r.Float64()
		if once := lux(func(i int) float64 { return 20 + high*btof(i >= k) }); Swings(once, sd, 0) {
			t.Fatalf("one step swings: %.2f", once)
		}
		period, phase := 20+100*r.Float64(), r.Float64() // in readings
		wave := func(i int) float64 { return math.Sin(2 * math.Pi * (float64(i)/period + phase)) }
		if n < 8 || period < 30 || math.Abs(wave(n-1)-wave(0)) < 0.5 {
			continue // too little of it to tell
		}
		if swing := lux(func(i int) float64 { return 20 + 6*wave(i) }); !Swings(swing, sd, 0) {
			t.Fatalf("a swing of %d readings in %.0f is none: %.2f", n, period, swing)
		}
		if Swings(lux(func(i int) float64 { return 20 + 6*wave(i) }), sd, 13) {
			t.Fatal("it swings by less than what is asked for")
		}
	}
}

func btof(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// Where a light was seen to swing its doubt grows as fast as it truly goes; a passage of a light that stands teaches that it does.
func TestASwingTeachesHowFastTheDoubtGrows(t *testing.T) {
	noise := Noise{UV: 0.0003, LnY: 0.002}
	light := colorcalc.UV{U: 0.2, V: 0.48}
	begin := func() *Background { return NewBackground(light.XYZ(20), 5, noise, time.Second) }
	seen := func(b *Background, level func(s float64) float64) float64 {
		var z []colorcalc.XYZ
		var at []time.Duration
		for s := 1.0; s < 5; s += 0.2 {
			z, at = append(z, light.XYZ(level(s))), append(at, time.Duration(s*float64(time.Second)))
		}
		b.Wander(z, noise, at)
		return math.Sqrt(b.level.square())
	}
	if rate := seen(begin(), func(s float64) float64 { return 20 + 3*math.Sin(2*math.Pi*s/13) }); rate < 0.02 || rate > 0.06 {
		t.Errorf("a light that swings by 15 %% in 13 s goes by %.3f in a second", rate)
	}
	before := math.Sqrt(begin().level.square())
	if rate := seen(begin(), func(float64) float64 { return 20 }); rate > before {
		t.Errorf("a light that stands goes by %.4f in a second, more than was taken before it was seen", rate)
	}
	if b := begin(); slices.Contains(b.level.grid, fastWander) {
		t.Error("the rates of clouds compete where none was seen")
	}
}
