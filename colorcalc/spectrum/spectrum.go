package spectrum

import (
	"errors"
	"fmt"
	"math"
)

// Spectrum is a quantity on an even grid: Values[i] belongs to StartNM +
// i*StepNM. The unit is the owner's: relative power, W m-2 nm-1, a
// transmittance of 0..1.
type Spectrum struct {
	StartNM, StepNM float64
	Values          []float64
}

// Grid is an even grid of wavelengths.
type Grid struct {
	StartNM, StepNM float64
	N               int
}

// Grids of the standards.
var (
	Visible1 = Grid{360, 1, 471} // the full definition of CIE 15
	Visible5 = Grid{380, 5, 81}  // the abridged one, 380-780 nm
)

// Bounds of what is taken for a spectrum.
const (
	minNM, maxNM = 100, 3000
	maxValues    = 100_000
)

// ErrNoLight says that a spectrum holds no light: its integral against the observer is not positive.
var ErrNoLight = errors.New("spectrum: no light between 360 and 830 nm")

// New checks a grid and its values: at least two, finite, the wavelengths
// within 100-3000 nm. The values are kept, not copied.
func New(startNM, stepNM float64, values []float64) (Spectrum, error) {
	s := Spectrum{startNM, stepNM, values}
	return s, s.Check()
}

// Check reports what is wrong with a spectrum: fewer than two values, a step
// that is not positive, wavelengths outside 100-3000 nm, a value that is not
// finite. Negative values are allowed: meters have noise.
func (s Spectrum) Check() error {
	if len(s.Values) < 2 || len(s.Values) > maxValues {
		return fmt.Errorf("spectrum: %d values, want 2 to %d", len(s.Values), maxValues)
	}
	if !(s.StepNM > 0) || !(s.StartNM >= minNM) || !(s.EndNM() <= maxNM) {
		return fmt.Errorf("spectrum: %v to %v nm in steps of %v nm: want rising wavelengths within %d to %d nm", s.StartNM, s.EndNM(), s.StepNM, minNM, maxNM)
	}
	for i, v := range s.Values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("spectrum: the value at %v nm is not a finite number", s.NM(i))
		}
	}
	return nil
}

// NM is the wavelength of value i.
func (s Spectrum) NM(i int) float64 { return s.StartNM + float64(i)*s.StepNM }

// EndNM is the wavelength of the last value.
func (s Spectrum) EndNM() float64 { return s.NM(len(s.Values) - 1) }

// Grid is the grid of s.
func (s Spectrum) Grid() Grid { return Grid{s.StartNM, s.StepNM, len(s.Values)} }

// NM is the wavelength of point i.
func (g Grid) NM(i int) float64 { return g.StartNM + float64(i)*g.StepNM }

// On builds a spectrum from a function of wavelength.
func (g Grid) On(f func(nm float64) float64) Spectrum {
	s := Spectrum{g.StartNM, g.StepNM, make([]float64, max(g.N, 0))}
	for i := range s.Values {
		s.Values[i] = f(g.NM(i))
	}
	return s
}

// Scale returns a copy of s, k times as strong.
func (s Spectrum) Scale(k float64) Spectrum {
	t := Spectrum{s.StartNM, s.StepNM, make([]float64, len(s.Values))}
	return t.fill(func(i int) float64 { return k * s.Values[i] })
}

// fill sets every value of s, which the caller owns.
func (s Spectrum) fill(f func(i int) float64) Spectrum {
	for i := range s.Values {
		s.Values[i] = f(i)
	}
	return s
}

// Add returns the mixture of two lights on the grid of s; t is resampled.
func (s Spectrum) Add(t Spectrum) Spectrum {
	t = t.Resample(s.Grid())
	return t.fill(func(i int) float64 { return s.Values[i] + t.Values[i] })
}

// Through returns the light s behind a filter (transmittance, 0..1), on the
// grid of s: filters are smooth, lights need not be. Beyond the ends of the
// filter's data its end values are held, as is usual for transmittances.
func (s Spectrum) Through(filter Spectrum) Spectrum {
	if len(filter.Values) == 0 {
		return s
	}
	f := filter.Resample(s.Grid())
	last := len(filter.Values) - 1
	return f.fill(func(i int) float64 {
		switch nm := s.NM(i); {
		case nm < filter.StartNM:
			return s.Values[i] * filter.Values[0]
		case nm > filter.EndNM():
			return s.Values[i] * filter.Values[last]
		}
		return s.Values[i] * f.Values[i]
	})
}
