package stage

import (
	"math"
	"math/rand/v2"
	"time"

	"trueup/colorcalc"
)

// AmbientSpec is light that is there whatever the lamps do, and how it lives.
// Only Light is needed; what is zero does not happen.
type AmbientSpec struct {
	Light colorcalc.XYZ // at the beginning, lux

	Walk  float64 // random walk of the level: standard deviation of its ln after one second; it grows with the root of time
	Tint  float64 // random walk of the colour: standard deviation of each of u', v' after one second
	Drift float64 // steady change of the level, of Light, a second; never below 0
	// Swing is how far the level swings, of Light, at the most, as under clouds that pass: two even waves, of SwingPeriod and of
	// swingOther times that, whose phases are drawn.
	Swing       float64
	SwingPeriod time.Duration
	// From Step on the light is Light times Factor, moved by Moved in u', v'. 0: no step.
	Step   time.Duration
	Factor float64
	Moved  colorcalc.UV
	// A blinking neighbour: Blink of Light comes on top, on and off by turns, each for a
	// time between BlinkFrom and BlinkTo.
	Blink              float64
	BlinkFrom, BlinkTo time.Duration
	// A moving light next door comes on top: its level goes from nothing to Sweep lux and back once in SweepPeriod, its
	// colour round through every hue once in HuePeriod.
	Sweep                  float64
	SweepPeriod, HuePeriod time.Duration
	// A wall of pictures: for each Picture the light is another part of Light, any between none and all, and its colour is moved in u', v', by
	// PictureMoved as the standard deviation of each.
	Picture      time.Duration
	PictureMoved float64
}

// Ambient is the light of a spec in time. It depends on seed and name alone, not on
// when it is looked at. Not for use by several goroutines at once.
type Ambient struct {
	spec  AmbientSpec
	walk  []knotAt // one for each whole second
	r     *rand.Rand
	turns []time.Duration // when the neighbour goes on and off
	rb    *rand.Rand
	phase [2]float64 // of the swing's waves, in turns
	sweep [2]float64 // of the moving light's level and hue, in turns
	shown []knotAt   // the pictures so far
	rp    *rand.Rand
}

// swingOther is the period of the second wave of a swing, of the first's: their sum repeats late.
const swingOther = 1.618

// knotAt is how far the walk has come: ln of the level, and the colour.
type knotAt struct {
	level float64
	uv    colorcalc.UV
}

// NewAmbient begins an ambient light.
func NewAmbient(spec AmbientSpec, seed uint64, name string) *Ambient {
	rs, rm := source(seed, "swing/"+name), source(seed, "sweep/"+name)
	return &Ambient{spec: spec, rp: source(seed, "pictures/"+name), walk: []knotAt{{}}, r: source(seed, "ambient/"+name), rb: source(seed, "blink/"+name),
		phase: [2]float64{rs.Float64(), rs.Float64()}, sweep: [2]float64{rm.Float64(), rm.Float64()}}
}

// At is the light at a moment since the stage began, lux.
func (a *Ambient) At(t time.Duration) colorcalc.XYZ {
	s := &a.spec
	if !(s.Light.Y > 0) {
		return s.Light
	}
	level, moved := 1+s.Drift*t.Seconds(), colorcalc.UV{}
	if s.Walk > 0 || s.Tint > 0 {
		k := a.walked(t)
		level *= math.Exp(k.level)
		moved = k.uv
	}
	if s.Swing != 0 && s.SwingPeriod > 0 {
		turns := t.Seconds() / s.SwingPeriod.Seconds()
		level += s.Swing / 2 * (math.Sin(2*math.Pi*(turns+a.phase[0])) + math.Sin(2*math.Pi*(turns/swingOther+a.phase[1])))
	}
	if s.Step > 0 && t >= s.Step {
		level *= s.Factor
		moved.U, moved.V = moved.U+s.Moved.U, moved.V+s.Moved.V
	}
	if s.Blink > 0 && a.blinks(t) {
		level += s.Blink
	}
	if s.Picture > 0 {
		k := a.picture(t)
		level *= k.level
		moved.U, moved.V = moved.U+k.uv.U, moved.V+k.uv.V
	}
	return Tinted(s.Light.Scale(max(level, 0)), moved).Add(a.swept(t))
}

// swept is the moving light at a moment.
func (a *Ambient) swept(t time.Duration) colorcalc.XYZ {
	s := &a.spec
	if !(s.Sweep > 0) || s.SweepPeriod <= 0 || s.HuePeriod <= 0 {
		return colorcalc.XYZ{}
	}
	level := (1 - math.Cos(2*math.Pi*(t.Seconds()/s.SweepPeriod.Seconds()+a.sweep[0]))) / 2
	hue := 2 * math.Pi * (t.Seconds()/s.HuePeriod.Seconds() + a.sweep[1])
	return colorcalc.UV{U: 0.21 + 0.08*math.Cos(hue), V: 0.45 + 0.07*math.Sin(hue)}.XYZ(s.Sweep * level)
}

// picture is the one that is shown at a moment.
func (a *Ambient) picture(t time.Duration) knotAt {
	n := int(max(t, 0) / a.spec.Picture)
	for len(a.shown) <= n {
		level := a.rp.Float64()
		uv := colorcalc.UV{U: a.rp.NormFloat64(), V: a.rp.NormFloat64()}
		a.shown = append(a.shown, knotAt{level, colorcalc.UV{U: uv.U * a.spec.PictureMoved, V: uv.V * a.spec.PictureMoved}})
	}
	return a.shown[n]
}

// walked is the walk at a moment: even steps at each second, straight lines between.
func (a *Ambient) walked(t time.Duration) knotAt {
	x := max(t.Seconds(), 0)
	n := int(x)
	for len(a.walk) <= n+1 {
		k := a.walk[len(a.walk)-1]
		// An even spread of half width w has the standard deviation w/sqrt(3).
		k.level += spread(a.r, a.spec.Walk*math.Sqrt(3))
		k.uv.U += spread(a.r, a.spec.Tint*math.Sqrt(3))
		k.uv.V += spread(a.r, a.spec.Tint*math.Sqrt(3))
		a.walk = append(a.walk, k)
	}
	f := x - float64(n)
	p, q := a.walk[n], a.walk[n+1]
	mix := func(p, q float64) float64 { return p + f*(q-p) }
	return knotAt{mix(p.level, q.level), colorcalc.UV{U: mix(p.uv.U, q.uv.U), V: mix(p.uv.V, q.uv.V)}}
}

// blinks tells whether the neighbour is on. It begins off.
func (a *Ambient) blinks(t time.Duration) bool {
	last := time.Duration(0)
	if n := len(a.turns); n > 0 {
		last = a.turns[n-1]
	}
	for last <= t {
		d := a.spec.BlinkFrom + time.Duration(a.rb.Float64()*float64(a.spec.BlinkTo-a.spec.BlinkFrom))
		last += max(d, 10*time.Millisecond)
		a.turns = append(a.turns, last)
	}
	on := false
	for _, turn := range a.turns {
		if turn > t {
			break
		}
		on = !on
	}
	return on
}

// Tinted is a light moved by d in u', v' at the same level.
func Tinted(c colorcalc.XYZ, d colorcalc.UV) colorcalc.XYZ {
	if d == (colorcalc.UV{}) || !(c.Y > 0) {
		return c
	}
	uv := c.UV()
	return colorcalc.UV{U: max(uv.U+d.U, 1e-4), V: max(uv.V+d.V, 1e-3)}.XYZ(c.Y)
}
