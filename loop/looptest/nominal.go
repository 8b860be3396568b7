package looptest

import (
	"math"

	"trueup/colorcalc"
	"trueup/loop/solve"
	"trueup/loop/stage"
	"trueup/profiles/law"
)

// nominal is the profile taken at its word: which drive gives a chromaticity.
// The usual methods stand on it as a person stands on the manual.
type nominal struct {
	spec  solve.Spec
	level float64
	basis [3]int // of emitters, held once chosen
	held  bool
	y     float64 // light asked for, in the profile's units
}

func newNominal(s solve.Spec, level float64) *nominal { return &nominal{spec: s, level: level} }

// drive gives the codes for a chromaticity; where the profile says that it is
// out of reach, those of a point on the way to white.
func (n *nominal) drive(uv colorcalc.UV) solve.Drive {
	switch n.spec.Kind {
	case solve.Emitters:
		return n.emitters(uv)
	case solve.CCT:
		return n.cct(uv)
	case solve.XY:
		c, xy := n.spec.XY, uv.XY()
		return solve.Drive{allowed(n.spec.Channels[0], c.XScale.CodeOf(xy.X)), allowed(n.spec.Channels[1], c.YScale.CodeOf(xy.Y))}
	}
	return n.hueSat(uv)
}

// allowed holds a code within those that may be sent.
func allowed(c solve.Channel, code uint32) uint32 { return max(c.Lo, min(c.Hi, code)) }

// choose holds the three emitters that give most light of a colour, and returns how
// much; 0 where no three reach it.
func (n *nominal) choose(xyz []colorcalc.XYZ, w colorcalc.XYZ) (top float64) {
	for i := range xyz {
		for j := i + 1; j < len(xyz); j++ {
			for k := j + 1; k < len(xyz); k++ {
				if p, ok := mix3(xyz[i], xyz[j], xyz[k], w); ok {
					if y := 1 / max(p[0], p[1], p[2]); y > top {
						top, n.basis, n.held = y, [3]int{i, j, k}, true
					}
				}
			}
		}
	}
	return top
}

func (n *nominal) emitters(uv colorcalc.UV) solve.Drive {
	e := n.spec.Emitters
	xyz := make([]colorcalc.XYZ, len(e))
	for i := range e {
		xyz[i] = e[i].UV.XYZ(max(e[i].Flux, 1e-6))
	}
	d := make(solve.Drive, len(n.spec.Channels))
	white := colorcalc.XY{X: 1.0 / 3, Y: 1.0 / 3}.UV()
	for step := range 200 {
		w := uv.XYZ(1)
		if n.held {
			if p, ok := mix3(xyz[n.basis[0]], xyz[n.basis[1]], xyz[n.basis[2]], w); ok {
				k := min(n.y, 1/max(p[0], p[1], p[2]))
				for i, b := range n.basis {
					d[b] = n.spec.Code(b, n.spec.Curve.Drive(k*p[i]))
				}
				return d
			}
		}
		top := n.choose(xyz, w)
		if n.held && top > 0 {
			n.y = n.level * top
			continue
		}
		n.held = false
		f := 0.01 * float64(step+1)
		uv = colorcalc.UV{U: uv.U + f*(white.U-uv.U), V: uv.V + f*(white.V-uv.V)}
	}
	return d
}

// mix3 solves p0 a + p1 b + p2 c = w by Cramer's rule; ok for shares >= 0.
func mix3(a, b, c, w colorcalc.XYZ) (p [3]float64, ok bool) {
	det := func(a, b, c colorcalc.XYZ) float64 {
		return a.X*(b.Y*c.Z-b.Z*c.Y) - b.X*(a.Y*c.Z-a.Z*c.Y) + c.X*(a.Y*b.Z-a.Z*b.Y)
	}
	d := det(a, b, c)
	p = [3]float64{det(w, b, c) / d, det(a, w, c) / d, det(a, b, w) / d}
	return p, p[0] >= 0 && p[1] >= 0 && p[2] >= 0 && !math.IsInf(p[0]+p[1]+p[2], 0)
}

func (n *nominal) cct(uv colorcalc.UV) solve.Drive {
	c := n.spec.CCT
	m, duv := locate(uv)
	d := make(solve.Drive, len(n.spec.Channels))
	d[c.Channel] = allowed(n.spec.Channels[c.Channel], c.Scale.CodeOf(colorcalc.Mired(m).Kelvin()))
	if c.Tint >= 0 {
		d[c.Tint] = allowed(n.spec.Channels[c.Tint], c.TintScale.CodeOf(colorcalc.Duv(duv)))
	}
	return d
}

// locate finds mired and Duv of a chromaticity by Newton's method on the
// stage's locus.
func locate(uv colorcalc.UV) (mired, duv float64) {
	t := uv.UV60()
	at := func(m, d float64) colorcalc.UV60 {
		return stage.White(colorcalc.Mired(m), colorcalc.Duv(d)).UV60()
	}
	mired = 200
	for range 30 {
		p, q := at(mired, duv), at(mired+1, duv)
		r := at(mired, duv+0.001)
		a, b := q.U-p.U, (r.U-p.U)*1000
		c, d := q.V-p.V, (r.V-p.V)*1000
		det := a*d - b*c
		if det == 0 {
			break
		}
		du, dv := t.U-p.U, t.V-p.V
		mired = min(max(mired+min(max((d*du-b*dv)/det, -60), 60), 40), 600)
		duv = min(max(duv+(a*dv-c*du)/det, -0.06), 0.06)
	}
	return mired, duv
}

func (n *nominal) hueSat(uv colorcalc.UV) solve.Drive {
	s := n.spec.HueSat
	r, g, b := s.Red.XYZ(1), s.Green.XYZ(1), s.Blue.XYZ(1)
	white, _ := mix3(r, g, b, s.White.XYZ(1))
	r, g, b = r.Scale(white[0]), g.Scale(white[1]), b.Scale(white[2])
	p := [3]float64{}
	for step := range 100 {
		var ok bool
		if p, ok = mix3(r, g, b, uv.XYZ(1)); ok {
			break
		}
		f := 0.01 * float64(step+1)
		uv = colorcalc.UV{U: uv.U + f*(s.White.U-uv.U), V: uv.V + f*(s.White.V-uv.V)}
	}
	turns, sat := law.OfParts(p)
	d := make(solve.Drive, 2)
	d[s.Hue] = allowed(n.spec.Channels[s.Hue], s.HueScale.CodeOf(360*turns))
	d[s.Sat] = allowed(n.spec.Channels[s.Sat], s.SatScale.CodeOf(sat))
	return d
}
