package model

import (
	"fmt"
	"math"
)

// defaultGamma stands where a Gamma law gives no exponent.
const defaultGamma = 2.2

// light is the fraction of full light at drive d (0..1, clamped).
func (c Curve) light(d float64) float64 {
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
		return math.Pow(d, c.exponent())
	case SCurve:
		return d * d * (3 - 2*d)
	case Table:
		s := d * float64(len(c.Table)-1)
		i := min(int(s), len(c.Table)-2)
		return c.Table[i] + (s-float64(i))*(c.Table[i+1]-c.Table[i])
	}
	return d
}

// drive is the inverse of light, by bisection where there is no closed form.
func (c Curve) drive(p float64) float64 {
	switch {
	case !(p > 0):
		return 0
	case p >= 1:
		return 1
	}
	switch c.Law {
	case Square:
		return math.Sqrt(p)
	case Gamma:
		return math.Pow(p, 1/c.exponent())
	case SCurve, Table:
		lo, hi := 0.0, 1.0
		for range 40 { // 2^-40 is far below one step of 24 bit
			mid := (lo + hi) / 2
			if c.light(mid) < p {
				lo = mid
			} else {
				hi = mid
			}
		}
		return (lo + hi) / 2
	}
	return p
}

func (c Curve) exponent() float64 {
	if c.Gamma > 0 {
		return c.Gamma
	}
	return defaultGamma
}

// check says what is wrong with a curve.
func (c Curve) check() error {
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

// rivals lists the laws that compete: the stated one first, then every other
// kind that might be the truth.
func (c Curve) rivals() []Curve {
	all := []Curve{{Law: Linear}, {Law: Square}, {Law: Gamma}, {Law: SCurve}}
	if c.Law == Unknown {
		return all
	}
	out := []Curve{c}
	for _, r := range all {
		same := r.Law == c.Law
		if c.Law == Gamma { // a gamma near 1 or 2 is no rival of linear or square
			g := c.exponent()
			same = same && math.Abs(g-defaultGamma) < 0.3 ||
				r.Law == Square && math.Abs(g-2) < 0.1 || r.Law == Linear && math.Abs(g-1) < 0.1
		}
		if c.Law == Square && r.Law == Gamma {
			continue // the exponent state reaches 2.2 from 2
		}
		if !same {
			out = append(out, r)
		}
	}
	return out
}

// response is the light fraction of drive d with the exponent multiplier
// exp(kappa), and d ln p / d kappa.
func response(c Curve, d, kappa float64) (p, dln float64) {
	f := c.light(d)
	if f <= 0 {
		return 0, 0
	}
	e := math.Exp(kappa) * math.Log(f)
	return math.Exp(e), e
}

// invResponse gives the drive for light fraction p.
func invResponse(c Curve, p, kappa float64) float64 {
	if p <= 0 {
		return 0
	}
	return c.drive(math.Exp(math.Log(p) / math.Exp(kappa)))
}

// Name says in words which law a curve is.
func (c Curve) Name() string {
	switch c.Law {
	case Linear:
		return "linear"
	case Square:
		return "square"
	case Gamma:
		return fmt.Sprintf("gamma %.2g", c.exponent())
	case SCurve:
		return "S-shaped"
	case Table:
		return "as its table"
	}
	return "unknown"
}
