package safety

import (
	"errors"
	"fmt"
	"math"
	"sort"
)

// Curve is a response: light (fraction of full) at equidistant codes from the lowest of
// the scale to its highest. It never falls, lies within 0..1, and ends at exactly 1; between
// its points it is straight. The true response may differ by [ExponentSpread]. Nil is
// a curve that nobody knows: caps and mixtures then take light as the code, speed and
// flashes the worst of what it may be; see [ExponentSpread].
type Curve []float64

// LinearCurve is light = code.
func LinearCurve() Curve { return Curve{0, 1} }

// CurveOf samples f, light against drive, both 0..1, at n+1 points. It scales f
// so that it ends at 1 and takes out falls, which no honest response has.
func CurveOf(n int, f func(float64) float64) (Curve, error) {
	if n < 1 || n > 4096 {
		return nil, fmt.Errorf("a curve of %d parts: want 1..4096", n)
	}
	c := make(Curve, n+1)
	end := f(1)
	if !(end > 0) || math.IsInf(end, 0) {
		return nil, fmt.Errorf("the response gives %g at full: want light", end)
	}
	for i := range c {
		v := f(float64(i)/float64(n)) / end
		if math.IsNaN(v) {
			return nil, fmt.Errorf("the response is not a number at %g", float64(i)/float64(n))
		}
		c[i] = min(max(v, 0), 1)
		if i > 0 {
			c[i] = max(c[i], c[i-1])
		}
	}
	c[n] = 1
	return c, nil
}

// Check refuses what is no curve.
func (c Curve) Check() error {
	if c == nil {
		return nil
	}
	if len(c) < 2 {
		return errors.New("a curve needs at least two points")
	}
	for i, v := range c {
		if !(v >= 0 && v <= 1) {
			return fmt.Errorf("curve point %d is %g: want 0..1", i, v)
		}
		if i > 0 && v < c[i-1] {
			return fmt.Errorf("curve point %d falls from %g to %g", i, c[i-1], v)
		}
	}
	if c[len(c)-1] != 1 {
		return fmt.Errorf("the curve ends at %g: want 1 at full", c[len(c)-1])
	}
	return nil
}

// light at a drive 0..1.
func (c Curve) light(drive float64) float64 {
	if c == nil {
		return drive
	}
	x := drive * float64(len(c)-1)
	i := min(int(x), len(c)-2)
	return c[i] + (x-float64(i))*(c[i+1]-c[i])
}

// drive that gives a light 0..1: the lowest one, where several do.
func (c Curve) drive(light float64) float64 {
	if c == nil {
		return light
	}
	n := len(c) - 1
	i := sort.SearchFloat64s(c, light) // first point at or above
	if i == 0 {
		return 0
	}
	if i > n {
		return 1
	}
	lo, hi := c[i-1], c[i]
	return (float64(i-1) + (light-lo)/(hi-lo)) / float64(n)
}
