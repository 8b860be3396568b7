package model

import (
	"fmt"
	"math"

	"trueup/profiles/law"
)

// rivals lists the laws that compete: the stated one first, then every other
// kind that might be the truth.
func rivals(c law.Curve) []law.Curve {
	all := [...]law.Curve{{Law: law.Linear}, {Law: law.Square}, {Law: law.Gamma}, {Law: law.SCurve}}
	out := make([]law.Curve, 0, len(all)+1)
	if c.Law == law.Unknown {
		return append(out, all[:]...)
	}
	out = append(out, c)
	for _, r := range all {
		same := r.Law == c.Law
		if c.Law == law.Gamma { // a gamma near 1 or 2 is no rival of linear or square
			g := c.Exponent()
			same = same && math.Abs(g-law.DefaultGamma) < alikeGamma ||
				r.Law == law.Square && math.Abs(g-2) < alikeLaw || r.Law == law.Linear && math.Abs(g-1) < alikeLaw
		}
		if c.Law == law.Square && r.Law == law.Gamma {
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
func response(c law.Curve, d, kappa float64) (p, dln float64) {
	f := c.Light(d)
	if f <= 0 {
		return 0, 0
	}
	e := math.Exp(kappa) * math.Log(f)
	return math.Exp(e), e
}

// invResponse gives the drive for light fraction p.
func invResponse(c law.Curve, p, kappa float64) float64 {
	if p <= 0 {
		return 0
	}
	return c.Drive(math.Exp(math.Log(p) / math.Exp(kappa)))
}

// CurveName says in words which law a curve is.
func CurveName(c law.Curve) string {
	switch c.Law {
	case law.Linear:
		return "linear"
	case law.Square:
		return "square"
	case law.Gamma:
		return fmt.Sprintf("gamma %.2g", c.Exponent())
	case law.SCurve:
		return "S-shaped"
	case law.Table:
		return "as its table"
	}
	return "unknown"
}
