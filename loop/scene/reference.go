package scene

import (
	"math"
	"time"

	"trueup/colorcalc"
)

// Reference is the light everything is matched to: a chromaticity that wanders, with one
// variance for both axes.
type Reference struct {
	uv    colorcalc.UV
	v     float64       // variance of each axis
	at    time.Duration // of the last reading
	rates rates
}

// NewReference starts from the mean of a first passage of n readings.
func NewReference(mean colorcalc.UV, n int, noise float64, at time.Duration) *Reference {
	return &Reference{uv: mean, v: noise * noise / float64(n), at: at, rates: referenceRates()}
}

// Now is the reference at a moment, with its standard deviation for each axis.
func (r *Reference) Now(at time.Duration) (colorcalc.UV, float64) {
	v := r.v
	if dt := (at - r.at).Seconds(); dt > 0 {
		v += r.rates.square() * dt
	}
	return r.uv, math.Sqrt(v)
}

// Figures of a reference that is another light than it was: a gel taken off, a blind drawn.
const (
	jumpChance = 0.003 // of a passage, before it is read
	jumpSize   = 0.01  // standard deviation of a jump for each axis, u'v'
	leastJump  = 3     // readings that must agree on it
)

// Passage takes in readings that follow one another closely, as long as z, and teaches the rates
// by their mean. It tells whether they say that the light has jumped: the hypothesis that it
// wandered there, at each of the rates, against the one that it is another light now. After a
// jump nothing counts of what was known before but the rates, which a jump does not teach.
func (r *Reference) Passage(z []colorcalc.UV, noise float64, at []time.Duration) (jumped bool) {
	if len(z) == 0 {
		return false
	}
	n := float64(len(z))
	var mean colorcalc.UV
	for _, c := range z {
		mean.U += c.U / n
		mean.V += c.V / n
	}
	du, dv := mean.U-r.uv.U, mean.V-r.uv.V
	since := max(0, (at[0] - r.at).Seconds())
	ln := func(v float64) float64 { return -0.5*(du*du+dv*dv)/v - math.Log(v) }
	wander := func(q float64) float64 { return ln(r.v + q*q*since + noise*noise/n) }
	if len(z) >= leastJump {
		jump := math.Log(jumpChance) + ln(r.v+jumpSize*jumpSize+noise*noise/n)
		if jump > math.Log(1-jumpChance)+r.rates.lnMean(wander) {
			r.uv, r.v, r.at = mean, noise*noise/n, at[len(at)-1]
			return true
		}
	}
	r.rates.learn(wander)
	for i, c := range z {
		r.take(c, noise, at[i])
	}
	return false
}

// take is the update by one reading.
func (r *Reference) take(z colorcalc.UV, noise float64, at time.Duration) {
	if dt := (at - r.at).Seconds(); dt > 0 {
		r.v += r.rates.square() * dt
		r.at = at
	}
	k := r.v / (r.v + noise*noise)
	r.uv.U += k * (z.U - r.uv.U)
	r.uv.V += k * (z.V - r.uv.V)
	r.v *= 1 - k
}

// After is the standard deviation for each axis that n more readings would leave now.
func (r *Reference) After(n int, noise float64, now time.Duration) float64 {
	_, sd := r.Now(now)
	if n == 0 {
		return sd
	}
	v := noise * noise / float64(n)
	return math.Sqrt(sd * sd * v / (sd*sd + v))
}

// Last is the moment of the last reading.
func (r *Reference) Last() time.Duration { return r.at }

// Clone is a reference of its own that knows the same.
func (r *Reference) Clone() *Reference {
	c := *r
	c.rates = r.rates.clone()
	return &c
}
