package gel

import (
	"errors"
	"fmt"
	"math"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// Gel is one filter of a list: what it does in numbers, or its transmittance.
type Gel struct {
	Name string
	// Mired and Duv are the shifts, used where Spectrum is nil.
	Mired colorcalc.Mired
	Duv   colorcalc.Duv
	// Transmission is the share of the light (Y) that passes, 0..1; 0 = not
	// known. Used where Spectrum is nil.
	Transmission float64
	// Spectrum is the transmittance, 0..1 over wavelength.
	Spectrum *spectrum.Spectrum
	// Nominal marks a filter of the generic series that nobody makes exactly.
	Nominal bool
}

// Check reports what is wrong with a filter: no name, shifts beyond 1000 mired
// or Duv 0.1, a transmission outside 0..1, a transmittance outside 0..1 by more
// than a meter's noise.
func (g Gel) Check() error {
	if g.Name == "" {
		return errors.New("gel: a filter without a name")
	}
	if g.Spectrum == nil {
		if !(math.Abs(float64(g.Mired)) <= 1000) || !(math.Abs(float64(g.Duv)) <= 0.1) {
			return fmt.Errorf("gel %q: shift of %v mired, %v Duv: want at most 1000 mired and 0.1 Duv", g.Name, float64(g.Mired), float64(g.Duv))
		}
		if !(g.Transmission >= 0 && g.Transmission <= 1) {
			return fmt.Errorf("gel %q: transmission %v: want 0 to 1", g.Name, g.Transmission)
		}
		return nil
	}
	if err := g.Spectrum.Check(); err != nil {
		return fmt.Errorf("gel %q: %w", g.Name, err)
	}
	for i, v := range g.Spectrum.Values {
		if v < -0.02 || v > 1.05 {
			return fmt.Errorf("gel %q: transmittance %v at %v nm: want 0 to 1", g.Name, v, g.Spectrum.NM(i))
		}
	}
	return nil
}

// Wanted says what a filter must do to bring a light to another: the numbers
// to look for in any swatch book. Errors as for colorcalc.CCT.
func Wanted(from, to colorcalc.XY) (colorcalc.Mired, colorcalc.Duv, error) {
	t0, d0, err := colorcalc.CCT(from)
	if err != nil {
		return 0, 0, fmt.Errorf("gel: the source: %w", err)
	}
	t1, d1, err := colorcalc.CCT(to)
	if err != nil {
		return 0, 0, fmt.Errorf("gel: the target: %w", err)
	}
	return t1.Mired() - t0.Mired(), d1 - d0, nil
}
