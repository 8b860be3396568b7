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
	lagFrom           = 3        // readings before the last that are fitted
	lagShown          = 2        // of which so many show it: one may be an outlier
	lateMost          = 2.0      // s, that a light is taken to come late,
	lateLeast         = 0.3      // of a time constant: less may be the dimming curve
	lagFits           = 3        // mean squared residual, in variances, above which no time constant explains the readings
	stepShows         = 12.0     // squared residuals, in variances, by which a step explains readings better than any time constant
)

// Lag is how a light follows its output: after so long nothing of the way, and from there on by a time constant.
type Lag struct{ Late, Tau time.Duration }

// Rests is how long after arrival the light stands still: LagRests time constants; one fewer after it began to follow, where it came late, for that is told on the
// long side, by a fade that may have been steeper at its end than it was taken to be.
func (l Lag) Rests() time.Duration {
	if l.Late > 0 {
		return l.Late + (LagRests-1)*l.Tau
	}
	return LagRests * l.Tau
}

// LagOf is the lag by which the level rises to where it ends:
//
//	Y(t) = L (1 - a exp(-t/tau))
//
// least squares over L and a for each tau of a grid, of the most of the last samples that it explains: a light that comes late goes another way until then.
// Colour moves too little while a lamp
// fades in to tell it; the level moves as a whole. A straight fade that takes fade leaves (tau/fade)(1 - exp(-fade/tau)) of the way at its end; where a is
// more, the light came late, by tau ln of the ratio. fade 0: not known, and then it came no later than the first of these samples. ok is false where the
// readings have no level, do not lag, or are not explained by it.
func LagOf(samples []Sample, sigmaLnY float64, fade time.Duration) (l Lag, ok bool) {
	for from := 0; from+lagFrom < len(samples) && sigmaLnY > 0; from++ {
		tau, left, fits := lagBy(samples[from:], sigmaLnY)
		if !fits {
			continue
		}
		late := max(0, samples[from].After-samples[from].Window).Seconds()
		if from == 0 {
			late = 0
		}
		if long := fade.Seconds(); long > 0 {
			late = max(0, tau*math.Log(left*long/(-tau*math.Expm1(-long/tau)))) // of NaN 0
		}
		if late < lateLeast*tau {
			late = 0
		}
		return Lag{Late: time.Duration(min(late, lateMost) * float64(time.Second)), Tau: time.Duration(tau * float64(time.Second))}, true
	}
	return l, false
}

// lagBy is the time constant, s, that explains samples best, and which part of the way it leaves at arrival.
func lagBy(samples []Sample, sigmaLnY float64) (tau, left float64, ok bool) {
	least, seen := math.Inf(1), 0
	for t := lagLeast; t <= lagMost; t *= lagGrid {
		chi2, n, a := lagFit(samples, sigmaLnY, t)
		if chi2 < least {
			least, tau, seen, left = chi2, t, n, a
		}
	}
	return tau, left, seen >= lagShown && least < lagFits*float64(len(samples))
}

// lagFit is the sum of squared residuals for a time constant, in variances, how many
// readings lag by more than noise explains, and which part of the way is left at arrival. Noise is a fraction of the level read.
func lagFit(samples []Sample, sigmaLnY, tau float64) (chi2 float64, seen int, left float64) {
	var s, sx, sxx, sy, sxy float64
	for _, p := range samples {
		y, x := math.Exp(p.LnY), math.Exp(-p.After.Seconds()/tau)
		w := 1 / (sigmaLnY * sigmaLnY * y * y)
		s, sx, sxx, sy, sxy = s+w, sx+w*x, sxx+w*x*x, sy+w*y, sxy+w*x*y
	}
	det := s*sxx - sx*sx
	if !(det > 1e-9*s*sxx) { // NaN too: a reading without a level
		return math.Inf(1), 0, 0
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
	return chi2, seen, -a / end
}

// Steps tells whether a level that has risen over samples, counted from when a light faded in from the dark, did so at once, and stands: the last two are alike, and the others
// are not where any time constant has them that leaves at arrival the whole way at the most. sigmaLnY is that of one reading of ln Y. Fewer than three samples
// tell nothing.
func Steps(samples []Sample, sigmaLnY float64) bool {
	n := len(samples)
	if n < 3 || !(sigmaLnY > 0) {
		return false
	}
	d := (samples[n-1].LnY - samples[n-2].LnY) / (sigmaLnY * math.Sqrt2)
	if !(math.Abs(d) <= steadySigmas) {
		return false
	}
	least := math.Inf(1)
	for t := lagLeast; t <= lagMost; t *= lagGrid {
		least = min(least, fromDark(samples, sigmaLnY, t))
	}
	return least > d*d+stepShows
}

// fromDark is the sum of squared residuals, in variances, of a level L (1 - a exp(-t/tau)), means of it over each window, over L and a between 0 and 1.
func fromDark(samples []Sample, sigmaLnY, tau float64) (chi2 float64) {
	part := func(p *Sample) float64 {
		x, w := math.Exp(-p.After.Seconds()/tau), p.Window.Seconds()/tau
		if w > 0 {
			x *= math.Expm1(w) / w
		}
		return x
	}
	var s, sx, sxx, sy, sxy float64
	for i := range samples {
		y, x := math.Exp(samples[i].LnY), part(&samples[i])
		w := 1 / (sigmaLnY * sigmaLnY * y * y)
		s, sx, sxx, sy, sxy = s+w, sx+w*x, sxx+w*x*x, sy+w*y, sxy+w*x*y
	}
	end, a := sy/s, 0.0
	if det := s*sxx - sx*sx; det > 0 {
		if e := (sxx*sy - sx*sxy) / det; e > 0 {
			if b := (sx*sy - s*sxy) / det / e; b > 0 {
				end, a = e, b
			}
		}
	}
	if a > 1 || math.IsNaN(a) {
		end, a = (sy-sxy)/(s-2*sx+sxx), 1
	}
	for i := range samples {
		y := math.Exp(samples[i].LnY)
		e := (y - end*(1-a*part(&samples[i]))) / (sigmaLnY * y)
		chi2 += e * e
	}
	return chi2
}
