package colorcalc

import "fmt"

// MinDaylight and MaxDaylight bound the CIE daylight locus.
const (
	MinDaylight Kelvin = 4000
	MaxDaylight Kelvin = 25000
)

// OldC2 converts the nominal temperature of a named D illuminant (D65: 6500 K),
// which stands on the scale of 1960 with c2 = 1.4380e-2 m K, to today's scale
// (CIE 15:2018): D65 is 6504 K.
const OldC2 = 1.4388 / 1.4380

// Daylight gives the chromaticity of CIE daylight of a correlated colour
// temperature, on today's scale (CIE 15:2018, ISO 11664-2). Valid
// for 4000-25000 K, else ErrRange. Exact to rounding.
func Daylight(t Kelvin) (XY, error) {
	if !(t >= MinDaylight && t <= MaxDaylight) {
		return XY{}, fmt.Errorf("daylight of %v K: %w, want %v to %v K", float64(t), ErrRange, float64(MinDaylight), float64(MaxDaylight))
	}
	q := 1e3 / float64(t)
	x := 0.237040 + q*(0.24748+q*(1.9018+q*-2.0064))
	if t <= 7000 {
		x = 0.244063 + q*(0.09911+q*(2.9678+q*-4.6070))
	}
	return XY{x, -3*x*x + 2.870*x - 0.275}, nil
}

// DaylightCCT is the way back along the daylight locus: the temperature whose
// daylight has the x of c. It looks at x alone; use CCT and Duv to see how far
// c lies from that locus (about Duv +0.003 above the Planckian one). Valid for
// the x of 4000-25000 K, else ErrRange; exact to 1e-9 of itself.
func DaylightCCT(c XY) (Kelvin, error) {
	lo, hi := MinDaylight, MaxDaylight
	a, _ := Daylight(lo)
	b, _ := Daylight(hi)
	if !(c.X <= a.X && c.X >= b.X) {
		return 0, fmt.Errorf("x %v: %w of the daylight locus, want %.4f to %.4f", c.X, ErrRange, b.X, a.X)
	}
	for range 60 { // x falls steadily with T: halve until nothing is left
		mid := (lo + hi) / 2
		m, _ := Daylight(mid)
		if m.X > c.X {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, nil
}

// DaylightFactors gives M1 and M2, by which the spectrum of daylight of
// chromaticity c is S0 + M1 S1 + M2 S2 (CIE 15:2018), not rounded.
func DaylightFactors(c XY) (m1, m2 float64) {
	m := 0.0241 + 0.2562*c.X - 0.7341*c.Y
	return (-1.3515 - 1.7703*c.X + 5.9114*c.Y) / m, (0.0300 - 31.4424*c.X + 30.0717*c.Y) / m
}
