package looptest

import (
	"math/rand/v2"

	"trueup/loop/solve"
)

// Fault is something wrong with a lamp, its patch or its profile that the loop shall name.
type Fault struct {
	Name  string
	Cause solve.Cause // what it may rightly be called
	spoil func(c *Case, r *rand.Rand)
}

// Faults lists them, with the lamps that they befall.
func Faults() []Class {
	dead := Fault{"dead emitter", solve.DeadEmitter, func(c *Case, r *rand.Rand) {
		lit := c.litAtFirst()
		c.gain(lit[r.IntN(len(lit))], 0)
	}}
	tint := Fault{"tint the other way round", solve.TintSign, func(c *Case, _ *rand.Rand) {
		t := &c.Channels[1]
		t.Lo, t.Hi = t.Hi, t.Lo
	}}
	scale := Fault{"kelvin for mired, or the other way", solve.WrongScale, func(c *Case, _ *rand.Rand) {
		c.Channels[0].Reciprocal = !c.Channels[0].Reciprocal
	}}
	var all []Class
	for _, cl := range []Class{
		{Name: "emitters", Fault: &dead},
		{Name: "emitters, saturated", Fault: &dead, Aim: Saturated},
		{Name: "emitters, law unknown", Fault: &dead, LawUnknown: true},
		{Name: "cct+tint, inner", Fault: &tint, Engine: true},
		{Name: "cct+tint, full", Fault: &tint, Engine: true, Aim: Saturated},
		{Name: "cct+tint, inner", Fault: &scale, Engine: true},
		{Name: "cct+tint, full", Fault: &scale, Engine: true, Aim: Saturated},
	} {
		cl.Name += ", " + cl.Fault.Name
		all = append(all, cl)
	}
	return all
}

// litAtFirst lists the emitters that the first setting of a match lights to speak of: of the others no reading
// tells whether they are alive.
func (c *Case) litAtFirst() (lit []int) {
	m, err := solve.New(c.Spec, c.Target, nil, c.Options)
	if err != nil {
		panic("looptest: " + err.Error()) // a slip in this package
	}
	for i, code := range m.Next(0).Drive {
		if i < len(c.Spec.Emitters) && float64(code) > 0.15*float64(c.Channels[i].Max) {
			lit = append(lit, i)
		}
	}
	return lit
}

// gain lets an emitter give g of its light.
func (c *Case) gain(emitter int, g float64) {
	k := c.Kind
	k.Quirks.Gain = make([]float64, len(k.Emitters))
	for i := range k.Quirks.Gain {
		k.Quirks.Gain[i] = 1
	}
	k.Quirks.Gain[emitter] = g
	c.Kind = k
	c.Unit = c.draw(k)
}

// spoilt does to a case what its class says.
func (c *Case) spoilt(r *rand.Rand) {
	if f := c.Class.Fault; f != nil {
		f.spoil(c, r)
		c.Reachable = c.Start().nearest(c.Target.UV) < Tol
	}
}
