package loop

import (
	"math"
	"time"
)

// LagRests is how many time constants of a slow lamp are waited for: 1.8 % of a move is left then, 0.0002 of one of 0.01.
const LagRests = 4

// Figures of the lag of a slow lamp.
const (
	lagLeast, lagMost = 0.1, 4.0 // s, time constants looked for
	lagGrid           = 1.06     // ratio of neighbours among them
	lagSeen           = 3        // standard errors that a reading must lie behind the last to be seen to lag
	lagFrom           = 3        // readings that show the lag: fewer may be outliers
	lagFits           = 4        // mean squared residual, in variances, above which no time constant explains the readings
)

// lag is the time constant, in seconds, by which the level rises to where it ends:
//
//	Y(t) = L + A exp(-t/tau)
//
// least squares over L and A for each tau of a grid. Colour moves too little while a lamp
// fades in to tell it; the level moves as a whole. ok is false where the readings have
// no level, do not lag, or are not explained by it.
func lag(samples []Sample, sigmaLnY float64) (tau float64, ok bool) {
	if len(samples) < lagFrom+1 || !(sigmaLnY > 0) {
		return 0, false
	}
	least, seen := math.Inf(1), 0
	for t := lagLeast; t <= lagMost; t *= lagGrid {
		chi2, n := lagFit(samples, sigmaLnY, t)
		if chi2 < least {
			least, tau, seen = chi2, t, n
		}
	}
	return tau, seen >= lagFrom && least < lagFits*float64(len(samples))
}

// Rests is how long after arrival a light stands still by the lag of its level, LagRests time constants; ok as of lag.
func Rests(samples []Sample, sigmaLnY float64) (d time.Duration, ok bool) {
	tau, ok := lag(samples, sigmaLnY)
	return LagRests * time.Duration(tau*float64(time.Second)), ok
}

// lagFit is the sum of squared residuals for a time constant, in variances, and how many
// readings lag by more than noise explains. Noise is a fraction of the level read.
func lagFit(samples []Sample, sigmaLnY, tau float64) (chi2 float64, seen int) {
	var s, sx, sxx, sy, sxy float64
	for _, p := range samples {
		y, x := math.Exp(p.LnY), math.Exp(-p.After.Seconds()/tau)
		w := 1 / (sigmaLnY * sigmaLnY * y * y)
		s, sx, sxx, sy, sxy = s+w, sx+w*x, sxx+w*x*x, sy+w*y, sxy+w*x*y
	}
	det := s*sxx - sx*sx
	if !(det > 1e-9*s*sxx) { // NaN too: a reading without a level
		return math.Inf(1), 0
	}
	end, a := (sxx*sy-sx*sxy)/det, (s*sxy-sx*sy)/det
	last := math.Exp(-samples[len(samples)-1].After.Seconds() / tau)
	for _, p := range samples {
		y, x := math.Exp(p.LnY), math.Exp(-p.After.Seconds()/tau)
		e := (y - end - a*x) / (sigmaLnY * y)
		chi2 += e * e
		if math.Abs(a*(x-last)) > lagSeen*sigmaLnY*y {
			seen++
		}
	}
	return chi2, seen
}
