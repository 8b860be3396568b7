package spectrum

import (
	"fmt"
	"math"
)

// FromPoints makes a spectrum of pairs with rising wavelengths. An even grid
// (to 1 % of the step) is kept as it is. An uneven one is put on 1 nm by a
// natural cubic spline (CIE 15:2018); where the points are closer
// than 1 nm their power is kept by averaging. Errors: fewer than three points,
// not rising, not finite, outside 100-3000 nm.
func FromPoints(nm, values []float64) (Spectrum, error) { return fromPoints(nm, values, spline) }

// FromLines is FromPoints with straight lines in place of the spline: for
// spectra with sharp lines, round which a spline swings.
func FromLines(nm, values []float64) (Spectrum, error) { return fromPoints(nm, values, straight) }

type interpolator func(x, y []float64, g Grid) Spectrum

func straight(x, y []float64, g Grid) Spectrum {
	k := 0
	return g.On(func(nm float64) float64 {
		for k < len(x)-2 && x[k+1] < nm {
			k++
		}
		return y[k] + (nm-x[k])/(x[k+1]-x[k])*(y[k+1]-y[k])
	})
}

func fromPoints(nm, values []float64, between interpolator) (Spectrum, error) {
	n := len(nm)
	if n < 3 || n != len(values) || n > maxValues {
		return Spectrum{}, fmt.Errorf("spectrum: %d wavelengths and %d values, want as many of both, 3 to %d", n, len(values), maxValues)
	}
	step := (nm[n-1] - nm[0]) / float64(n-1)
	even, least := true, math.Inf(1)
	for i := range nm {
		if !(nm[i] >= minNM && nm[i] <= maxNM) {
			return Spectrum{}, fmt.Errorf("spectrum: wavelength %v: want nanometres within %d to %d", nm[i], minNM, maxNM)
		}
		if i > 0 {
			if !(nm[i] > nm[i-1]) {
				return Spectrum{}, fmt.Errorf("spectrum: wavelength %v follows %v: want them rising", nm[i], nm[i-1])
			}
			least = min(least, nm[i]-nm[i-1])
		}
		if math.IsNaN(values[i]) || math.IsInf(values[i], 0) {
			return Spectrum{}, fmt.Errorf("spectrum: the value at %v nm is not a finite number", nm[i])
		}
		even = even && math.Abs(nm[i]-nm[0]-float64(i)*step) <= 0.01*step
	}
	if even {
		return New(nm[0], step, values)
	}
	k := min(max(math.Ceil(1/least), 1), 20)
	fine := Grid{math.Ceil(nm[0]*k) / k, 1 / k, 0}
	fine.N = int((nm[n-1]-fine.StartNM)*k+1e-9) + 1
	s := between(nm, values, fine)
	if k > 1 {
		g := Grid{math.Ceil(nm[0]), 1, 0}
		g.N = int(nm[n-1]-g.StartNM+1e-9) + 1
		s = s.Resample(g)
	}
	return s, s.Check()
}

// spline is the natural cubic spline through the points, on a grid inside
// them. A spectrum without negative values gets none by overshoot.
func spline(x, y []float64, g Grid) Spectrum {
	n := len(x)
	m := make([]float64, n) // second derivatives, by the tridiagonal system
	c := make([]float64, n)
	floor := y[0]
	for i := 1; i < n-1; i++ {
		h0, h1 := x[i]-x[i-1], x[i+1]-x[i]
		r := 6 * ((y[i+1]-y[i])/h1 - (y[i]-y[i-1])/h0)
		d := 2*(h0+h1) - h0*c[i-1]
		c[i] = h1 / d
		m[i] = (r - h0*m[i-1]) / d
	}
	for i := n - 2; i > 0; i-- {
		m[i] -= c[i] * m[i+1]
	}
	for _, v := range y {
		floor = min(floor, v)
	}
	k := 0
	return g.On(func(nm float64) float64 {
		for k < n-2 && x[k+1] < nm {
			k++
		}
		h := x[k+1] - x[k]
		a, b := (x[k+1]-nm)/h, (nm-x[k])/h
		v := a*y[k] + b*y[k+1] + ((a*a*a-a)*m[k]+(b*b*b-b)*m[k+1])*h*h/6
		if floor >= 0 && v < 0 {
			return 0
		}
		return v
	})
}
