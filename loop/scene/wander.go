package scene

import (
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
)

// fastWander is the rate of a level under clouds that pass, per square root of a second. It competes, with fastWeight at first, once such a
// light was seen: where none is it would only take time.
const (
	fastWander = 0.05
	fastWeight = 0.1
)

// wanderBlocks is into how many parts of like length a passage is cut to see how the light wanders; a short one has fewer readings.
const wanderBlocks = 4

// Wander teaches the rates by readings of the dark probe that followed one another closely, one time each: from part to part
// of them the light went on as a walk of each rate foretells. Where it is now they do not tell: see Passage.
func (b *Background) Wander(z []colorcalc.XYZ, noise Noise, at []time.Duration) {
	blocks := min(wanderBlocks, len(z))
	if blocks < 2 {
		return
	}
	if !slices.Contains(b.level.grid, fastWander) {
		b.level = b.level.with(fastWander, fastWeight)
	}
	r := readingCov(z[len(z)/2], noise)
	var before colorcalc.XYZ
	var then time.Duration
	n := len(z) / blocks
	for k := range blocks {
		mean := MeanOf(z[k*n : (k+1)*n])
		now := (at[k*n] + at[(k+1)*n-1]) / 2
		if dt := (now - then).Seconds(); k > 0 && dt > 0 {
			from := &Background{mean: [3]float64{before.X, before.Y, before.Z}}
			of := r // of both means
			for i := range of {
				of[i] *= 2 / float64(n)
			}
			none := [9]float64{}
			b.level.learn(func(rate float64) float64 {
				return from.likelihood(mean, &none, &of, rate*rate*dt, b.colour.square()*dt)
			})
			b.colour.learn(func(rate float64) float64 {
				return from.likelihood(mean, &none, &of, b.level.square()*dt, rate*rate*dt)
			})
		}
		before, then = mean, now
	}
}

// with are the rates and one more, faster than they are.
func (r *rates) with(rate, weight float64) rates {
	more := rates{grid: append(slices.Clone(r.grid), rate), mix: r.mix}
	for _, w := range r.weight {
		more.weight = append(more.weight, w*(1-weight))
	}
	more.weight = append(more.weight, weight)
	return more
}

// Swings tells whether a level that was followed, lux in even times, has swung, by no less than least, and without a leap: a light that is
// switched does most of its way in one step. sd is the noise of one. It needs three of them.
func Swings(lux []float64, sd, least float64) bool {
	f := lux
	if n := len(lux); n < 3 {
		return false
	} else if n >= manyFollowed {
		f = nil // without single odd readings
		for i := 1; i+1 < n; i++ {
			three := []float64{lux[i-1], lux[i], lux[i+1]}
			slices.Sort(three)
			f = append(f, three[1])
		}
	}
	far := slices.Max(f) - slices.Min(f)
	step := 0.0
	for i := range len(f) - 1 {
		step = max(step, math.Abs(f[i+1]-f[i]))
	}
	even := max(leastStep, unevenness/float64(len(f)-1))
	return far >= max(least, swingSeen*sd) && step <= far*even+3*sd
}

// Figures of a level that swings.
const (
	swingSeen    = 8.0  // standard deviations of a reading that it goes at the least
	leastStep    = 0.25 // of the way: no more is gone from one reading to the next, or,
	unevenness   = 1.6  // where they are few, than so many times the even part of it
	manyFollowed = 8    // readings, among which one may be odd
)
