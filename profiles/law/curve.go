package law

import (
	"fmt"
	"math"
)

// Law names a response from drive (a fraction of the scale, 0..1) to light (a
// fraction of full, 0..1).
type Law int

// The laws. Unknown is left to the readings; where a figure is needed before
// there are any it is taken as Linear.
const (
	Unknown Law = iota
	Linear      // light = drive
	Square      // light = drive squared
	Gamma       // light = drive to the power of Curve.Gamma (DefaultGamma when zero)
	SCurve      // light = d^2 (3 - 2d): slow at both ends
	Table       // Curve.Table, light at equidistant drives from 0 to 1, straight between
)

// DefaultGamma stands where a Gamma law gives no exponent.
const DefaultGamma = 2.2

// Laws lists the laws that need no figures.
var Laws = [...]Law{Unknown, Linear, Square, SCurve}

// String gives the word of the profile file.
func (l Law) String() string {
	if l < Unknown || l > Table {
		return "unknown"
	}
	return [...]string{"unknown", "linear", "square", "gamma", "s", "table"}[l]
}

// Curve is a response law with its figures.
type Curve struct {
	Law   Law       `json:"law"`
	Gamma float64   `json:"gamma,omitempty"` // of Law Gamma
	Table []float64 `json:"table,omitempty"` // of Law Table: ascending, 0..1, at least two
}

// Light is the fraction of full light at a drive; drives beyond 0..1 give the
// ends, NaN gives 0.
func (c Curve) Light(d float64) float64 {
	switch {
	case !(d > 0):
		d = 0
	case d > 1:
		d = 1
	}
	switch c.Law {
	case Square:
		return d * d
	case Gamma:
		return math.Pow(d, c.Exponent())
	case SCurve:
		return d * d * (3 - 2*d)
	case Table:
		s := d * float64(len(c.Table)-1)
		i := min(int(s), len(c.Table)-2)
		return c.Table[i] + (s-float64(i))*(c.Table[i+1]-c.Table[i])
	}
	return d
}

// Drive is the inverse of Light, by bisection where there is no closed form.
// Where several drives give the light it is the lowest; beyond 0..1 the ends.
func (c Curve) Drive(light float64) float64 {
	switch {
	case !(light > 0):
		return 0
	case light >= 1:
		return 1
	}
	switch c.Law {
	case Square:
		return math.Sqrt(light)
	case Gamma:
		return math.Pow(light, 1/c.Exponent())
	case SCurve, Table:
		lo, hi := 0.0, 1.0
		for range 40 { // 2^-40 is far below one step of 24 bit
			mid := (lo + hi) / 2
			if c.Light(mid) < light {
				lo = mid
			} else {
				hi = mid
			}
		}
		return (lo + hi) / 2
	}
	return light
}

// Stated tells whether anybody has said what the law is.
func (c Curve) Stated() bool { return c.Law != Unknown }

// Exponent is the power of Law Gamma.
func (c Curve) Exponent() float64 {
	if c.Gamma > 0 {
		return c.Gamma
	}
	return DefaultGamma
}

// Check says what is wrong with a curve.
func (c Curve) Check() error {
	if c.Law < Unknown || c.Law > Table {
		return fmt.Errorf("curve: law %d is not known", c.Law)
	}
	if c.Law == Gamma && c.Gamma != 0 && !(c.Gamma >= 0.2 && c.Gamma <= 6) {
		return fmt.Errorf("curve: gamma %g must be between 0.2 and 6", c.Gamma)
	}
	if c.Law != Table {
		return nil
	}
	if len(c.Table) < 2 {
		return fmt.Errorf("curve: a table needs at least two points, has %d", len(c.Table))
	}
	for i, v := range c.Table {
		if !(v >= 0 && v <= 1) || i > 0 && v < c.Table[i-1] {
			return fmt.Errorf("curve: table point %d (%g) must ascend within 0..1", i+1, v)
		}
	}
	if !(c.Table[len(c.Table)-1] > 0) {
		return fmt.Errorf("curve: the table never gives light")
	}
	return nil
}
