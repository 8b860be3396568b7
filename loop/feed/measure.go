package feed

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/profiles/printable"
)

// Check is what a feed was measured to be, on a steady lamp.
type Check struct {
	Probe    string
	Readings int
	Mean     colorcalc.UV
	MeanY    float64 // 0 without a level
	// SigmaUV is the standard deviation of one reading per axis of u', v';
	// SigmaLnY that of ln Y (NaN without a level). Both from successive
	// differences, so that a slow drift of the lamp is not taken for noise.
	SigmaUV, SigmaLnY float64
	// DriftUV is how far the mean moved over the whole check, in u'v', where
	// that is more than noise explains; else 0.
	DriftUV     float64
	Interval    time.Duration // median time between readings
	Integration time.Duration // longest seen
	Clock       ClockStatus
	RoundXY     float64
	// LatencyKnown with Latency: from the end of integration to arrival, at
	// the most. Measured with a step of light, or from the instrument's clock.
	LatencyKnown bool
	Latency      time.Duration
	// SettledAfter is how long after the step of light the first reading of
	// only new light arrived; 0 without a step.
	SettledAfter time.Duration
}

// ErrTooFew is returned when a check has too few readings to say anything.
var ErrTooFew = errors.New("want at least 4 readings")

// NewCheck sums up readings of one steady lamp, in order of arrival.
func NewCheck(probe string, rs []Reading, clock ClockStatus) (Check, error) {
	n := len(rs)
	if n < 4 {
		return Check{}, ErrTooFew
	}
	c := Check{Probe: probe, Readings: n, Clock: clock, SigmaLnY: math.NaN()}
	var gaps []float64
	sumUV, sumY, level := 0.0, 0.0, true
	for i, r := range rs {
		c.Mean.U += r.UV.U / float64(n)
		c.Mean.V += r.UV.V / float64(n)
		c.Integration = max(c.Integration, r.Integration)
		c.RoundXY = max(c.RoundXY, r.RoundXY)
		level = level && r.HasY && r.Y > 0
		c.MeanY += r.Y / float64(n)
		if i > 0 {
			p := rs[i-1]
			gaps = append(gaps, r.Received.Sub(p.Received).Seconds())
			sumUV += sq(r.UV.U-p.UV.U) + sq(r.UV.V-p.UV.V)
			if level {
				sumY += sq(math.Log(r.Y / p.Y))
			}
		}
	}
	// Mean square successive difference: E = 2 sigma^2 per axis (von Neumann,
	// 1941).
	c.SigmaUV = math.Sqrt(sumUV / float64(n-1) / 4)
	if level {
		c.SigmaLnY = math.Sqrt(sumY / float64(n-1) / 2)
	} else {
		c.MeanY = 0
	}
	slices.Sort(gaps)
	c.Interval = time.Duration(gaps[len(gaps)/2] * 1e9)
	if clock.Stamped && clock.Agrees {
		c.LatencyKnown, c.Latency = true, max(clock.Delay, 0)
	}
	// Halves: the difference of two means of n/2 has sd sigma*sqrt(4/n) per
	// axis; beyond 3.5 of these it is drift (chance below 0.3 % for a light that
	// stands still).
	var a, b colorcalc.UV
	h := n / 2
	for i := range h {
		a.U, a.V = a.U+rs[i].UV.U/float64(h), a.V+rs[i].UV.V/float64(h)
		b.U, b.V = b.U+rs[n-h+i].UV.U/float64(h), b.V+rs[n-h+i].UV.V/float64(h)
	}
	if d := a.Dist(b); d > 3.5*c.floor()*math.Sqrt(2/float64(h)) {
		c.DriftUV = 2 * d // the halves' centres lie half the check apart
	}
	return c, nil
}

// floor is the noise per axis, not below what the rounding makes.
func (c Check) floor() float64 { return math.Hypot(c.SigmaUV, colorcalc.RoundingSigma(c.RoundXY)) }

// ReadingsFor is how many readings at one point the noise asks for before their
// mean alone lies within tol with 95 %.
func (c Check) ReadingsFor(tol float64) int { return colorcalc.ReadingsFor(c.floor(), tol) }

// Carries tells whether the meter can carry a tolerance.
func (c Check) Carries(tol float64) bool { return c.ReadingsFor(tol) <= mostReadings }

// mostReadings at one point that anybody would wait for.
const mostReadings = 25

// Advice says in words what a person should know before a run to a tolerance;
// empty when all is well.
func (c Check) Advice(tol float64) []string {
	var out []string
	switch n := c.ReadingsFor(tol); {
	case !c.Carries(tol):
		can := colorcalc.Radius95 * c.floor() / math.Sqrt(mostReadings)
		out = append(out, fmt.Sprintf("the meter scatters by %.4f: a tolerance of %.4f would take %d readings a point; choose %.4f or more, or give the meter more light or a longer integration", c.floor(), tol, n, can))
	case n > 6:
		out = append(out, fmt.Sprintf("the meter scatters by %.4f: a tolerance of %.4f takes about %s a point", c.floor(), tol, printable.Count(n, "reading")))
	}
	if c.DriftUV > 0 {
		out = append(out, fmt.Sprintf("the light moved by %.4f during the check: let the light warm up, or keep other light off the probe", c.DriftUV))
	}
	if c.Clock.Stamped && !c.Clock.Agrees {
		out = append(out, fmt.Sprintf("the meter's clock is off by about %s; its time is not used, arrival and latency are", printable.Span(c.Clock.Delay)))
	}
	if !c.LatencyKnown {
		out = append(out, "the latency is not known: the loop waits for the longest that is assumed; measure it with a step of light")
	}
	return out
}

// Measure reads n readings of a steady lamp by one probe, "" for the first that
// speaks, and sums them up.
func Measure(ctx context.Context, f *Feed, probe string, n int) (Check, error) {
	var rs []Reading
	for len(rs) < n {
		r, err := f.NextAfter(ctx, probe, time.Time{})
		if err != nil {
			return Check{}, err
		}
		if len(rs) > 0 && r.Probe != rs[0].Probe {
			continue // of an instrument that has several, while any was asked for
		}
		rs = append(rs, r)
	}
	return NewCheck(rs[0].Probe, rs, f.Status().Clock)
}

// MeasureStep makes a small step of light and finds the latency from it. step
// changes the lamp and returns when the change was on the wire. c must come
// from Measure on the same lamp just before.
//
// The first reading that differs from before gathered some new light, so its
// integration ended after the step: arrival minus step is an upper bound of the
// latency, whatever the integration and however slow the lamp. The last reading
// that differs from where the light came to rest tells when only new light
// arrives.
func MeasureStep(ctx context.Context, f *Feed, c Check, step func(context.Context) (time.Time, error)) (Check, error) {
	at, err := step(ctx)
	if err != nil {
		return c, err
	}
	var rs []Reading
	for len(rs) < 60 {
		r, err := f.NextAfter(ctx, c.Probe, time.Time{})
		if err != nil {
			return c, err
		}
		if r.Received.Before(at) || r.Probe != c.Probe {
			continue
		}
		rs = append(rs, r)
		if done, seen := c.judgeStep(rs, at); done {
			return seen.apply(c), nil
		}
	}
	return c, errors.New("no step of light was seen in 60 readings: does this light reach the probe?")
}

// stepResult is what a step showed.
type stepResult struct{ latency, settled time.Duration }

func (s stepResult) apply(c Check) Check {
	if !c.LatencyKnown || s.latency < c.Latency {
		c.Latency = s.latency
	}
	c.LatencyKnown, c.SettledAfter = true, s.settled
	return c
}

// judgeStep looks for the first reading that left the old light and the first
// of four in a row that stand still.
func (c Check) judgeStep(rs []Reading, at time.Time) (bool, stepResult) {
	sdUV, sdY := c.floor(), 0.02
	if !math.IsNaN(c.SigmaLnY) {
		sdY = math.Hypot(c.SigmaLnY, 0.002)
	}
	differs := func(a colorcalc.UV, ya float64, b Reading) bool {
		return a.Dist(b.UV) > 5*sdUV || c.MeanY > 0 && math.Abs(math.Log(ya/b.Y)) > 5*sdY
	}
	first := slices.IndexFunc(rs, func(r Reading) bool { return differs(c.Mean, c.MeanY, r) })
	if first < 0 || len(rs) < first+5 {
		return false, stepResult{}
	}
	last := rs[len(rs)-1]
	for _, r := range rs[len(rs)-4:] {
		if differs(last.UV, last.Y, r) {
			return false, stepResult{}
		}
	}
	settled := len(rs) - 1
	for settled > 0 && !differs(last.UV, last.Y, rs[settled-1]) {
		settled--
	}
	return true, stepResult{rs[first].Received.Sub(at), rs[settled].Received.Sub(at)}
}

func sq(x float64) float64 { return x * x }
