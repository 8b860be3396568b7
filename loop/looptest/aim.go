package looptest

import (
	"fmt"
	"math"
	"math/rand/v2"

	"trueup/colorcalc"
	"trueup/loop/solve"
	"trueup/loop/stage"
)

// aim draws the target. Reachable ones are checked against the lamp as it is,
// with room to spare: emitters by their gamut, engines by the light that some
// setting of this very lamp gives.
func (c *Case) aim(r *rand.Rand, seed, kind uint64) {
	c.Target = solve.Target{Tol: Tol}
	p := stage.NewPlant(c.Unit, c.Channels)
	p.Set(c.Found)
	p.Warm(0.8)
	with := func(codes []uint32) colorcalc.UV { return p.Would(codes).Add(c.Ambient).UV() }
	switch {
	case c.Class.Aim == OtherUnit:
		other := stage.NewPlant(stage.Draw(c.Kind, stage.KindScatter, stage.UnitScatter, seed^kind<<20, "other"), c.Channels)
		c.Target.UV = other.Would(c.corner(r)).Add(c.Ambient).UV()
	case c.Spec.Kind == solve.Emitters:
		c.aimEmitters(r, p)
	case c.Class.Aim == Outside:
		c.aimPastRange(r, with)
	default:
		c.Target.UV = with(c.inner(r, with))
		c.Reachable = true
	}
}

// corner is one emitter alone, or both parameters at an end.
func (c *Case) corner(r *rand.Rand) []uint32 {
	codes := make([]uint32, len(c.Channels))
	if c.Spec.Kind == solve.Emitters {
		i := r.IntN(len(codes))
		codes[i] = c.Channels[i].Max
		return codes
	}
	for i, ch := range c.Channels {
		codes[i] = ch.Max * uint32(r.IntN(2))
	}
	return codes
}

// inner draws a setting of an engine at which both parameters still act.
func (c *Case) inner(r *rand.Rand, with func([]uint32) colorcalc.UV) []uint32 {
	lo, hi := [2]float64{0.12, 0.2}, [2]float64{0.88, 0.8}
	if c.Class.Aim == Saturated {
		lo, hi = [2]float64{0.05, 0.08}, [2]float64{0.95, 0.92}
	}
	var codes []uint32
	for range 200 {
		f := [2]float64{lo[0] + (hi[0]-lo[0])*r.Float64(), lo[1] + (hi[1]-lo[1])*r.Float64()}
		switch {
		case c.Spec.XY != nil:
			k := 2700 + 5300*r.Float64()
			xy := stage.White(colorcalc.Kelvin(k).Mired(), colorcalc.Duv(0.01*(2*r.Float64()-1)))
			if c.Class.Aim == Saturated {
				xy = between(r, c.Spec.XY.Gamut, xy.UV(), 0.25, 0.8).XY()
			}
			f = [2]float64{xy.X / c.Channels[0].Hi, xy.Y / c.Channels[1].Hi}
		case c.Spec.HueSat != nil && c.Class.Aim == NearWhite:
			f = [2]float64{r.Float64(), 0.02 + 0.25*r.Float64()}
		case c.Spec.HueSat != nil:
			f = [2]float64{r.Float64(), 0.25 + 0.65*r.Float64()}
		}
		codes = []uint32{uint32(f[0] * float64(c.Channels[0].Max)), uint32(f[1] * float64(c.Channels[1].Max))}
		if c.acts(codes, with) {
			return codes
		}
	}
	return codes
}

// acts reports whether both parameters move the light in different directions
// by something like what they should: a twentieth of the range by at least
// 0.0005, and not along one line.
func (c *Case) acts(codes []uint32, with func([]uint32) colorcalc.UV) bool {
	at := with(codes)
	var d [2]colorcalc.UV
	for i := range 2 {
		n := []uint32{codes[0], codes[1]}
		step := c.Channels[i].Max / 20
		if n[i] > c.Channels[i].Max/2 {
			n[i] -= step
		} else {
			n[i] += step
		}
		u := with(n)
		d[i] = colorcalc.UV{U: u.U - at.U, V: u.V - at.V}
	}
	l0, l1 := math.Hypot(d[0].U, d[0].V), math.Hypot(d[1].U, d[1].V)
	least := 0.0005
	if c.Spec.HueSat != nil {
		least = 0.0001 // near white the hue does little, rightly
	}
	return l0 > least && l1 > least && math.Abs(d[0].U*d[1].V-d[0].V*d[1].U) > 0.25*l0*l1
}

// between draws a point from white towards a random point of a gamut.
func between(r *rand.Rand, corners []colorcalc.UV, from colorcalc.UV, lo, hi float64) colorcalc.UV {
	i := r.IntN(len(corners))
	j := (i + 1 + r.IntN(len(corners)-1)) % len(corners)
	f, s := r.Float64(), lo+(hi-lo)*r.Float64()
	u := corners[i].U + f*(corners[j].U-corners[i].U)
	v := corners[i].V + f*(corners[j].V-corners[i].V)
	return colorcalc.UV{U: from.U + s*(u-from.U), V: from.V + s*(v-from.V)}
}

// aimPastRange goes on past the end of the colour temperature or the tint.
func (c *Case) aimPastRange(r *rand.Rand, with func([]uint32) colorcalc.UV) {
	codes := c.inner(r, with)
	end, mid := []uint32{codes[0], codes[1]}, []uint32{codes[0], codes[1]}
	i := r.IntN(2)
	end[i], mid[i] = 0, c.Channels[i].Max/10
	if r.IntN(2) == 0 {
		end[i], mid[i] = c.Channels[i].Max, c.Channels[i].Max-c.Channels[i].Max/10
	}
	a, b := with(mid), with(end)
	l := max(a.Dist(b), 1e-4)
	d := 0.002 + 0.028*r.Float64()
	c.Target.UV = colorcalc.UV{U: b.U + d*(b.U-a.U)/l, V: b.V + d*(b.V-a.V)/l}
}

func (c *Case) aimEmitters(r *rand.Rand, p *stage.Plant) {
	uv := make([]colorcalc.UV, len(c.Channels))
	for i := range uv {
		codes := make([]uint32, len(c.Channels))
		codes[i] = c.Channels[i].Max
		// Ambient light is part of what the meter sees: beside a deep blue it
		// is not small, and the gamut that counts is the one with it.
		uv[i] = p.Would(codes).Add(c.Ambient).UV()
	}
	white := func() colorcalc.UV {
		return stage.White(colorcalc.Kelvin(2700+5300*r.Float64()).Mired(), colorcalc.Duv(0.01*(2*r.Float64()-1))).UV()
	}
	hull := Hull(uv)
	for range 1000 {
		var t colorcalc.UV
		switch c.Class.Aim {
		case NearWhite:
			if t = white(); Inside(hull, t) > 0.004 {
				c.Target.UV, c.Reachable = t, true
				return
			}
		case Saturated:
			if t = between(r, hull, white(), 0.5, 0.97); Inside(hull, t) > 0.004 {
				c.Target.UV, c.Reachable = t, true
				return
			}
		default:
			t = between(r, hull, white(), 1, 1.3)
			if d := -Inside(hull, t); d > 0.002 && d < 0.03 && t.V > 0.02 && t.U > 0 {
				c.Target.UV = t
				return
			}
		}
	}
	panic(fmt.Sprintf("looptest: class %q has no target for %s", c.Class.Name, c.Kind.Name))
}

// Hull is the convex hull of chromaticities, counter-clockwise.
func Hull(p []colorcalc.UV) []colorcalc.UV {
	start := 0
	for i := range p {
		if p[i].U < p[start].U {
			start = i
		}
	}
	var out []colorcalc.UV
	for at := start; len(out) <= len(p); {
		out = append(out, p[at])
		next := (at + 1) % len(p)
		for i := range p {
			if cross(p[at], p[next], p[i]) < 0 {
				next = i
			}
		}
		if at = next; at == start {
			break
		}
	}
	return out
}

func cross(o, a, b colorcalc.UV) float64 {
	return (a.U-o.U)*(b.V-o.V) - (a.V-o.V)*(b.U-o.U)
}

// Inside is how far t lies inside a counter-clockwise hull; outside it is the
// negative distance.
func Inside(hull []colorcalc.UV, t colorcalc.UV) float64 {
	in, out := math.Inf(1), math.Inf(1)
	inside := true
	for i, a := range hull {
		b := hull[(i+1)%len(hull)]
		l := a.Dist(b)
		if l == 0 {
			continue
		}
		d := cross(a, b, t) / l
		in = min(in, d)
		inside = inside && d >= 0
		f := min(max(((t.U-a.U)*(b.U-a.U)+(t.V-a.V)*(b.V-a.V))/(l*l), 0), 1)
		out = min(out, t.Dist(colorcalc.UV{U: a.U + f*(b.U-a.U), V: a.V + f*(b.V-a.V)}))
	}
	if inside {
		return in
	}
	return -out
}
