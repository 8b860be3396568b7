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
	v     float64 // variance of each axis
	at    time.Duration
	read  time.Duration
	rates rates
	known bool // a passage has begun
}

// NewReference starts from the mean of a first passage of n readings.
func NewReference(mean colorcalc.UV, n int, noise float64, at time.Duration) *Reference {
	return &Reference{uv: mean, v: noise * noise / float64(n), at: at, read: at, rates: referenceRates()}
}

// Now is the reference at a moment, with its standard deviation for each axis.
func (r *Reference) Now(at time.Duration) (colorcalc.UV, float64) {
	v := r.v
	if dt := (at - r.at).Seconds(); dt > 0 {
		v += r.rates.square() * dt
	}
	return r.uv, math.Sqrt(v)
}

// Read takes in one reading. The first of a passage teaches the rates.
func (r *Reference) Read(z colorcalc.UV, noise float64, at time.Duration) {
	du, dv := z.U-r.uv.U, z.V-r.uv.V
	if dt := (at - r.at).Seconds(); dt > 0 {
		r.at = at
		if !r.known {
			since := (at - r.read).Seconds()
			r.rates.learn(func(q float64) float64 {
				s := r.v + q*q*since + noise*noise
				return -0.5*(du*du+dv*dv)/s - math.Log(s)
			})
		}
		r.v += r.rates.square() * dt
	}
	r.known = true
	k := r.v / (r.v + noise*noise)
	r.uv.U += k * du
	r.uv.V += k * dv
	r.v *= 1 - k
	r.read = at
}

// Rest ends a passage: the next reading teaches the rates again.
func (r *Reference) Rest() { r.known = false }

// Last is the moment of the last reading.
func (r *Reference) Last() time.Duration { return r.read }
