package model

import (
	"math"

	"trueup/loop/solve/num"
)

// planck gives the CIE 1960 chromaticity of the black body at T kelvin, by the
// rational approximation of Krystek (Color Research and Application 10, 1985):
// within 1e-4 from 1000 to 15000 K, smooth beyond. What it lacks is far below
// the scatter of any lamp and is learnt with it.
func planck(t float64) (u, v float64) {
	u = (0.860117757 + 1.54118254e-4*t + 1.28641212e-7*t*t) / (1 + 8.42420235e-4*t + 7.08145163e-7*t*t)
	v = (0.317398726 + 4.22806245e-5*t + 4.20481691e-8*t*t) / (1 - 2.89741816e-5*t + 1.61456053e-7*t*t)
	return u, v
}

// offLocus gives the CIE 1976 chromaticity at a distance duv (CIE 1960, +
// green) from the black body of the given mired.
func offLocus(mired, duv float64) (u, v float64) {
	mired = num.Clamp(mired, leastMired, mostMired)
	u, v = planck(1e6 / mired)
	a, b := planck(1e6 / (mired + 0.5))
	c, d := planck(1e6 / (mired - 0.5))
	tu, tv := a-c, b-d // towards warm
	n := math.Hypot(tu, tv)
	u += duv * -tv / n
	v += duv * tu / n
	return u, 1.5 * v
}

// softClamp keeps x between lo and hi with corners rounded over the width w.
func softClamp(x, lo, hi, w float64) float64 {
	x = lo + w*softplus((x-lo)/w)
	return hi - w*softplus((hi-x)/w)
}

func softplus(x float64) float64 {
	if x > 30 {
		return x
	}
	return math.Log1p(math.Exp(x))
}
