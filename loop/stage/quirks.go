package stage

import (
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
)

// Quirks are what a lamp does that no profile says. The zero value has none.
type Quirks struct {
	Gain []float64 // what each emitter gives of its light; nil = all of it, 0 = dead
	// Play is how far the light of the lowest codes lags behind them, as a fraction of
	// full drive: going up it is too low, coming down too high. It fades out to
	// nothing at playTop.
	Play float64
	// Wave is the amplitude, as ln of the light, of the bumps of the emitters' curves over
	// their codes: tables in eight bit have such.
	Wave float64
	// PWM is the frequency, in hertz, at which emitters are switched to dim them; a meter's
	// window that is no whole number of periods sees more or less. 0 = not seen.
	PWM float64
	// Calibrates is how far, as ln, the emitters are set anew by the lamp itself when
	// its power has changed much; CalibratesAfter so long after it did.
	Calibrates      float64
	CalibratesAfter time.Duration
}

// Figures of the quirks.
const (
	playTop   = 0.12 // drive above which there is no play
	largeMove = 0.2  // change of power, of full, that a lamp sets itself anew for
)

// waves are the periods of the bumps, in eight-bit codes.
var waves = [2]float64{19.3, 7.1}

// bump is what the curve of an emitter has at a drive above its law, as ln.
func (u *Unit) bump(emitter int, f float64) float64 {
	w := u.kind.Quirks.Wave
	if w == 0 {
		return 0
	}
	s := 0.0
	for k, period := range waves {
		s += math.Sin(2*math.Pi*(255*f/period+u.bumps[(2*emitter+k)%len(u.bumps)])) / float64(k+1)
	}
	return w * s / 1.5
}

// played is where the light of a channel really stands, as a drive, that stood at
// was and is sent to f.
func (q *Quirks) played(was, f float64) float64 {
	h := q.Play * max(0, 1-f/playTop)
	if f <= 0 || h <= 0 {
		return f
	}
	return min(max(was, f-h), f+h)
}

// gains is what an emitter gives of its light, calibrated at a power.
func (u *Unit) gain(emitter int, power float64) float64 {
	q := &u.kind.Quirks
	k := 1.0
	if emitter < len(q.Gain) {
		k = q.Gain[emitter]
	}
	if q.Calibrates != 0 {
		k *= math.Exp(q.Calibrates * (2*u.bumps[(5*emitter+3)%len(u.bumps)] - 1) * 2 * (power - 0.5))
	}
	return k
}

// calibration is a lamp that sets itself anew.
type calibration struct {
	power float64       // at which it did last
	due   time.Duration // when it will; 0: nothing is due
	to    float64       // power then
}

// moved notes that the lamp heads for a power from now on.
func (c *calibration) moved(q *Quirks, now time.Duration, power float64) {
	switch {
	case q.Calibrates == 0:
	case math.Abs(power-c.power) < largeMove:
		c.due = 0
	default:
		if c.due == 0 || math.Abs(power-c.to) >= largeMove {
			c.due = now + q.CalibratesAfter
		}
		c.to = power
	}
}

// passed lets the moment come.
func (c *calibration) passed(now time.Duration) {
	if c.due > 0 && now >= c.due {
		c.power, c.due = c.to, 0
	}
}

// Over is the lamp's light as it is now, with its pulses between two moments since the
// stage began in the place of their mean.
func (p *Plant) Over(from, to time.Duration) colorcalc.XYZ {
	return p.lit(p.pulsed(from, to), p.share, p.calibration.power)
}

// pulsed is for how much of the time between two moments each emitter is on.
func (p *Plant) pulsed(from, to time.Duration) []float64 {
	f := p.unit.kind.Quirks.PWM
	if f <= 0 || to <= from {
		return p.share
	}
	pulsed := slices.Clone(p.share)
	for i, s := range p.share {
		if s > 0 && s < 1 {
			a, b := from.Seconds()*f+p.unit.bumps[i%len(p.unit.bumps)], to.Seconds()*f+p.unit.bumps[i%len(p.unit.bumps)]
			pulsed[i] = (pulses(b, s) - pulses(a, s)) / (b - a)
		}
	}
	return pulsed
}

// pulses is how much of the time from 0 to t an emitter was on, in periods, that is on for
// the first part s of each.
func pulses(t, s float64) float64 {
	n := math.Floor(t)
	return n*s + min(t-n, s)
}

// Settled is the light that the lamp comes to with its codes, its own fade over and set
// anew where it is going to, as warm as it is now.
func (p *Plant) Settled() colorcalc.XYZ {
	codes := p.codes
	if n := len(p.pending); n > 0 {
		codes = p.pending[n-1].codes
	}
	p.shares(codes, p.mix)
	c := p.calibration
	c.moved(&p.unit.kind.Quirks, p.now, p.powerOf(p.mix))
	if c.due > 0 {
		c.power = c.to
	}
	return p.lit(p.mix, p.mix, c.power)
}
