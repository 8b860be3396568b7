package stage

import (
	"math"
	"time"

	"trueup/colorcalc"
)

// Role is what a channel of a lamp moves.
type Role int

// Roles of channels.
const (
	RoleEmitter Role = iota // the emitter with number Emitter
	RoleDimmer              // all light
	RoleFirst               // the engine's first parameter: kelvin, x, hue
	RoleSecond              // the engine's second parameter: Duv, y, saturation
	RoleNone                // moves nothing that makes colour
)

// Channel says how the codes of one parameter reach the physics.
type Channel struct {
	Role    Role
	Emitter int
	Max     uint32
	// At code 0 and at Max the parameter stands at Lo and Hi (kelvin, Duv, x, y,
	// degrees, 0..1); in between it is linear, or linear in 1/value.
	Lo, Hi     float64
	Reciprocal bool
	Steps      []Step // a scale in steps instead of Lo and Hi, ascending codes
	Law        *Law   // RoleEmitter, RoleDimmer: another law than the kind's
	// RoleEmitter, RoleDimmer: dark up to code Dark, full from code Full on; Full 0
	// is Max.
	Dark, Full uint32
}

// Step is the value that a parameter has from a code on.
type Step struct {
	From  uint32
	Value float64
}

func (c Channel) fraction(code uint32) float64 {
	if c.Max == 0 {
		return 0
	}
	return float64(min(code, c.Max)) / float64(c.Max)
}

// level is the drive of an emitter or a dimmer, 0..1.
func (c Channel) level(code uint32) float64 {
	if c.Full <= c.Dark {
		return c.fraction(code)
	}
	return float64(min(max(code, c.Dark), c.Full)-c.Dark) / float64(c.Full-c.Dark)
}

func (c Channel) value(code uint32) float64 {
	if n := len(c.Steps); n > 0 {
		k := 0
		for k < n-1 && code >= c.Steps[k+1].From {
			k++
		}
		return c.Steps[k].Value
	}
	f := c.fraction(code)
	if c.Reciprocal {
		return 1 / (1/c.Lo + f*(1/c.Hi-1/c.Lo))
	}
	return c.Lo + f*(c.Hi-c.Lo)
}

// Plant is one unit in time: what it was told, how warm it is, how far its own
// fade has come. It is pure: time passes only by Advance. Not for use by
// several goroutines at once.
type Plant struct {
	unit     *Unit
	channels []Channel

	now     time.Duration // since the stage began
	codes   []uint32
	pending []pendingCodes // on the wire, inside Delay

	aim   []float64 // shares of the emitters the codes ask for
	share []float64 // shares as they are
	sink  float64   // K
	board float64   // K
	mix   []float64 // scratch

	played      []float64 // of each channel: the drive at which its light stands
	calibration calibration
	glides      time.Duration // what is left of a fade in a straight line
}

type pendingCodes struct {
	at    time.Duration
	codes []uint32
}

// NewPlant puts a unit on the stage, cold and dark.
func NewPlant(u *Unit, channels []Channel) *Plant {
	n := len(u.emitters)
	p := &Plant{unit: u, channels: channels, codes: make([]uint32, len(channels)),
		aim: make([]float64, n), share: make([]float64, n), mix: make([]float64, n), played: make([]float64, len(channels))}
	p.solveAim()
	copy(p.share, p.aim)
	return p
}

// Now is the plant's time since the stage began.
func (p *Plant) Now() time.Duration { return p.now }

// Unit is the lamp that this plant is.
func (p *Plant) Unit() *Unit { return p.unit }

// Set puts codes on the lamp's input, one for each channel; missing ones count
// as 0, those above Max as Max.
func (p *Plant) Set(codes []uint32) {
	c := make([]uint32, len(p.channels))
	copy(c, codes)
	if d := p.unit.kind.Delay; d > 0 {
		p.pending = append(p.pending, pendingCodes{p.now + d, c})
		return
	}
	p.take(c)
}

func (p *Plant) take(c []uint32) {
	p.codes = c
	p.solveAim()
	p.glides = p.unit.kind.Response
	for i, ch := range p.channels {
		p.played[i] = p.unit.kind.Quirks.played(p.played[i], ch.fraction(c[i]))
	}
	p.calibration.moved(&p.unit.kind.Quirks, p.now, p.powerOf(p.aim))
}

// solveAim turns the codes into the shares that the lamp heads for.
func (p *Plant) solveAim() { p.shares(p.codes, p.aim) }

func (p *Plant) shares(codes []uint32, dst []float64) {
	u := p.unit
	for i := range dst {
		dst[i] = 1 // an emitter that nothing drives is simply on
	}
	for _, c := range p.channels {
		if c.Role == RoleEmitter {
			dst[c.Emitter] = 0
		}
	}
	dim := 1.0
	var first, second float64
	for i, c := range p.channels {
		f := c.level(codes[i])
		switch c.Role {
		case RoleEmitter:
			f = u.kind.Quirks.played(p.played[i], f)
			law := u.kind.Law
			if c.Law != nil {
				law = *c.Law
			}
			if f > 0 && f >= u.cutOff[c.Emitter] {
				dst[c.Emitter] = math.Pow(law.At(f), u.emitters[c.Emitter].exponent) * math.Exp(u.bump(c.Emitter, f))
			}
		case RoleDimmer:
			law := u.kind.DimLaw
			if c.Law != nil {
				law = *c.Law
			}
			dim = law.At(u.kind.Quirks.played(p.played[i], f))
		case RoleFirst:
			first = c.value(codes[i])
		case RoleSecond:
			second = c.value(codes[i])
		}
	}
	if u.engine != nil {
		u.engine.mix(first, second, dst)
	}
	watts := 0.0
	for i := range dst {
		dst[i] *= dim
		watts += dst[i] * u.emitters[i].watts
	}
	if limit := u.kind.Limit * u.full; limit > 0 && watts > limit {
		for i := range dst {
			dst[i] *= limit / watts
		}
	}
}

// longest steps: while the lamp fades, and while only its warmth moves.
const (
	fadeStep = 20 * time.Millisecond
	warmStep = 2 * time.Second
)

// Advance lets time pass. Fade and warmth follow their exponentials exactly
// while the aim stands still, so the result depends little on how the time is cut.
func (p *Plant) Advance(d time.Duration) {
	for d > 0 {
		for len(p.pending) > 0 && p.pending[0].at <= p.now {
			p.take(p.pending[0].codes)
			p.pending = p.pending[1:]
		}
		step := min(d, warmStep)
		if p.fading() {
			step = min(step, fadeStep)
		}
		if len(p.pending) > 0 {
			step = min(step, p.pending[0].at-p.now)
		}
		if due := p.calibration.due; due > p.now {
			step = min(step, due-p.now)
		}
		p.step(step)
		p.now += step
		p.calibration.passed(p.now)
		d -= step
	}
}

func (p *Plant) fading() bool {
	for i := range p.aim {
		if math.Abs(p.aim[i]-p.share[i]) > darkShare {
			return true
		}
	}
	return false
}

// Dark tells whether the lamp gives no light, and will give none until it is set.
func (p *Plant) Dark() bool {
	if len(p.pending) > 0 {
		return false
	}
	for i := range p.aim {
		if p.aim[i] > 0 || p.share[i] > darkShare {
			return false
		}
	}
	return true
}

// darkShare of an emitter's full is no light to any meter: a fade is an exponential and never ends.
const darkShare = 1e-7

// power is the electric power now, as a share of all emitters at full.
func (p *Plant) power() float64 { return p.powerOf(p.share) }

func (p *Plant) powerOf(share []float64) float64 {
	w := 0.0
	for i := range share {
		w += share[i] * p.unit.emitters[i].watts
	}
	return w / max(p.unit.full, 1e-9)
}

func (p *Plant) step(d time.Duration) {
	p.ease(d)
	h := p.unit.kind.Heat
	w := p.power()
	p.sink += follow(d, h.SinkTime) * (h.Sink*w - p.sink)
	p.board += follow(d, h.BoardTime) * (h.Board*w - p.board)
}

// follow is the share of a gap that a first-order lag closes in d.
func follow(d, tau time.Duration) float64 {
	if tau <= 0 {
		return 1
	}
	return -math.Expm1(-d.Seconds() / tau.Seconds())
}

// Warm brings the lamp to the warmth it would have after a long time at its
// present codes, times k: 0 stone cold, 1 fully warm. Its fade ends too.
func (p *Plant) Warm(k float64) {
	for _, c := range p.pending {
		p.take(c.codes)
	}
	p.pending = nil
	copy(p.share, p.aim)
	if p.calibration.due > 0 {
		p.calibration.passed(p.calibration.due)
	}
	h := p.unit.kind.Heat
	p.sink, p.board = k*h.Sink*p.power(), k*h.Board*p.power()
}

// Light is the lamp's light now, at full coupling and without anything else.
func (p *Plant) Light() colorcalc.XYZ { return p.light(p.share) }

// Would is the light that codes would give at once, as warm as the lamp is now:
// the truth against which a tool's choice is judged.
func (p *Plant) Would(codes []uint32) colorcalc.XYZ {
	p.shares(codes, p.mix)
	return p.light(p.mix)
}

func (p *Plant) light(share []float64) colorcalc.XYZ {
	return p.lit(share, share, p.calibration.power)
}

// lit is the light of emitters that are on for a share of the time, each as at the drive
// that makes it so on the average, of a lamp that set itself anew at a power.
func (p *Plant) lit(on, share []float64, power float64) colorcalc.XYZ {
	var c colorcalc.XYZ
	h := p.unit.kind.Heat
	for i, s := range share {
		if s <= 0 {
			continue
		}
		e := &p.unit.emitters[i]
		nm := 0.0
		if h.ShiftWithCurrent != 0 {
			nm = h.ShiftWithCurrent * (0.5 - s) // bluer with more current
		}
		l := e.at(p.sink+p.board+h.Junction*s, nm)
		if e.lines != (colorcalc.XYZ{}) {
			l = l.Add(e.lines.Scale(math.Expm1(p.unit.colourUnrest(p.now))))
		}
		c = c.Add(l.Scale(on[i] * p.unit.gain(i, power)))
	}
	return c.Scale(math.Exp(p.unit.levelUnrest(p.now)))
}

// The wandering of a discharge is a sum of slow swings with fixed phases, so
// that the light at a moment does not depend on how often it was looked at.
var swings = [3]float64{41, 157, 613} // seconds

func (u *Unit) levelUnrest(t time.Duration) float64 {
	return u.kind.Unrest.Level * u.swing(t, 0)
}

func (u *Unit) colourUnrest(t time.Duration) float64 {
	w := u.kind.Unrest
	return w.Colour*u.swing(t, 3) + w.Ageing*t.Hours()
}

func (u *Unit) swing(t time.Duration, phase int) float64 {
	s := 0.0
	for i, period := range swings {
		s += math.Sin(2 * math.Pi * (t.Seconds()/period + u.phases[phase+i]))
	}
	return s / float64(len(swings))
}

// Preheat sets how warm the lamp is, 0..1 of its warmth at full power after a long time.
func (p *Plant) Preheat(k float64) {
	p.sink, p.board = k*p.unit.kind.Heat.Sink, k*p.unit.kind.Heat.Board
}
