package stage

import (
	"math"
	"time"

	"trueup/colorcalc"
)

// Change is what becomes of a light in the course of time, beside what its codes and
// its own warmth make of it. The zero value is no change.
type Change struct {
	// Warming moves the colour by so much in the long run, with a time constant of
	// WarmTime from the beginning of the stage on.
	Warming  colorcalc.UV
	WarmTime time.Duration
	// From Gel on the colour is moved by GelMoved and the level is GelFactor: a filter
	// that was put in or taken off. 0: never.
	Gel       time.Duration
	GelMoved  colorcalc.UV
	GelFactor float64
}

// At is a light as the change has it at a moment since the stage began.
func (c *Change) At(light colorcalc.XYZ, t time.Duration) colorcalc.XYZ {
	var d colorcalc.UV
	if c.WarmTime > 0 {
		k := -math.Expm1(-t.Seconds() / c.WarmTime.Seconds())
		d = colorcalc.UV{U: k * c.Warming.U, V: k * c.Warming.V}
	}
	if c.Gel > 0 && t >= c.Gel {
		d.U, d.V = d.U+c.GelMoved.U, d.V+c.GelMoved.V
		light = light.Scale(c.GelFactor)
	}
	return Tinted(light, d)
}
