package spectrum

import (
	"math"

	"trueup/colorcalc"
	"trueup/colorcalc/internal/cie"
	"trueup/colorcalc/internal/table"
)

// Km is the maximum luminous efficacy, lm/W (CIE 15:2018; BIPM).
const Km = 683

// Observer names a set of colour-matching functions.
type Observer uint8

// The observers of ISO 11664-1.
const (
	Deg2  Observer = iota // CIE 1931, for fields of 1 to 4 degrees
	Deg10                 // CIE 1964, for larger fields
)

func (o Observer) table() *table.Table {
	if o == Deg10 {
		return cie.CMF10()
	}
	return cie.CMF2()
}

// XYZ integrates a light: 683 times the sum of value, colour-matching function
// and step over the samples within 360-830 nm (CIE 15:2018). With
// values in W m-2 nm-1 Y is lux, with W m-2 sr-1 nm-1 it is cd/m2; with relative
// values it is relative. Grids of whole nanometres up to 5 nm are summed as
// they are; others are first put on 1 nm (see Resample). The error of a 5 nm
// grid against 1 nm is below 0.0001 in x, y for all but the sharpest lines.
func (s Spectrum) XYZ(o Observer) colorcalc.XYZ {
	if len(s.Values) == 0 || !(s.StepNM > 0) {
		return colorcalc.XYZ{}
	}
	step := math.Round(s.StepNM)
	if step < 1 || step > 5 || math.Abs(s.StepNM-step) > 1e-9 || math.Abs(s.StartNM-math.Round(s.StartNM)) > 1e-9 {
		s, step = s.Resample(Visible1), 1
	}
	m := o.table()
	first := int(math.Round(s.StartNM)) - int(m.StartNM)
	x, y, z := m.Columns[0], m.Columns[1], m.Columns[2]
	var c colorcalc.XYZ
	for i, v := range s.Values {
		k := first + i*int(step)
		if k >= 0 && k < len(x) {
			c.X += v * x[k]
			c.Y += v * y[k]
			c.Z += v * z[k]
		}
	}
	return c.Scale(Km * step)
}

// XY is the 2-degree chromaticity; ErrNoLight where that is undefined.
func (s Spectrum) XY() (colorcalc.XY, error) {
	c := s.XYZ(Deg2).XY()
	if !c.Valid() {
		return colorcalc.XY{}, ErrNoLight
	}
	return c, nil
}

// Reflected integrates a sample (radiance factor or transmittance, 0..1) under
// the light s, with Y = 100 for the perfect diffuser (CIE 15:2018):
// k = 100 / sum S ybar. Zero where s has no light.
func (s Spectrum) Reflected(sample Spectrum, o Observer) colorcalc.XYZ {
	y := s.XYZ(o).Y
	if !(y > 0) {
		return colorcalc.XYZ{}
	}
	return s.Through(sample).XYZ(o).Scale(100 / y)
}

// Power is the plain integral over all samples, value times nanometres: W m-2
// for values in W m-2 nm-1.
func (s Spectrum) Power() float64 {
	sum := 0.0
	for _, v := range s.Values {
		sum += v
	}
	return sum * s.StepNM
}
