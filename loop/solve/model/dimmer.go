package model

import (
	"math"

	"trueup/profiles/law"
)

// dimmerLight is the light fraction of drive d of a dimmer whose exponent is 1 + x times the stated one, and d ln p / dx. The ln of the level is
// linear in x, so that one reading at a second level tells the exponent at once, however far off it is.
func dimmerLight(c law.Curve, d, x float64) (p, dln float64) {
	f := c.Light(d)
	if f <= 0 {
		return 0, 0
	}
	dln = math.Log(f)
	return math.Exp((1 + x) * dln), dln
}

// dimmerDrive gives the drive for light fraction p.
func dimmerDrive(c law.Curve, p, x float64) float64 {
	if p <= 0 {
		return 0
	}
	return c.Drive(math.Exp(math.Log(p) / (1 + x)))
}

// openDimmer widens what is known of a dimmer's exponent as far as sdOpenDim, where no curve is stated and readings have not told it yet.
// k is its state, g that of the scale, of n. What was learnt of the light at drive d, where the lamp stands, stays: the scale goes the other way.
// d nil: it stands nowhere. channel < 0: there is no dimmer.
func openDimmer(c law.Curve, s *State, n, k, g int, d []float64, channel int) {
	if channel < 0 {
		return
	}
	was, open := s.P[k*n+k], sdOpenDim*sdOpenDim
	if c.Law != law.Unknown || was < learntDim*sdDim*sdDim || was >= open {
		return
	}
	q := open - was
	s.P[k*n+k] = open
	if d == nil {
		return
	}
	_, dln := dimmerLight(c, d[channel], s.X[k])
	s.P[k*n+g] -= q * dln
	s.P[g*n+k] -= q * dln
	s.P[g*n+g] += q * dln * dln
}
