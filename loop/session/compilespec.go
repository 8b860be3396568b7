package session

import (
	"fmt"
	"trueup/colorcalc"
	"trueup/loop/solve"
	"trueup/profiles"
	"trueup/profiles/law"
)

// spec tells the solver what the profile says of the head.
func (b *builder) spec(name string) (solve.Spec, error) {
	m := b.m
	s := solve.Spec{Name: name, Start: b.rest()}
	for _, p := range b.params {
		s.Channels = append(s.Channels, solve.Channel{Name: p.Name, Max: p.Max, Lo: p.Lo, Hi: p.Hi})
	}
	if i := b.dimmer(); i >= 0 {
		s.Dimmer = &solve.DimmerSpec{Channel: i, Curve: curveSpec(m.Dimmer.Curve)}
		s.Start[i] = b.levelCode()
	}
	switch m.Kind {
	case profiles.Emitters:
		s.Kind = solve.Emitters
		s.Curve = curveSpec(m.Emitters[0].Curve)
		for i, e := range m.Emitters {
			s.Emitters = append(s.Emitters, solve.Emitter{Name: e.Name, UV: e.UV, SigmaUV: e.SigmaUV, Flux: e.Flux, White: e.White})
			if e.Blind {
				s.Channels[i].Hi = s.Channels[i].Lo // stays out of matching
			} else if e.Cap < 1 {
				s.Channels[i].Hi = max(s.Channels[i].Lo, min(s.Channels[i].Hi, uint32(e.Cap*float64(e.Max))))
			}
			if e.Curve.Law != m.Emitters[0].Curve.Law {
				s.Curve = solve.Curve{} // they differ: let the readings decide
			}
		}
	case profiles.CCT:
		s.Kind = solve.CCT
		s.CCT = cctSpec(m)
	case profiles.XY:
		s.Kind = solve.XY
		zx, mx := ends(m.X)
		zy, my := ends(m.Y)
		s.XY = &solve.XYSpec{X: 0, Y: 1, AtZero: colorcalc.XY{X: zx, Y: zy}, AtMax: colorcalc.XY{X: mx, Y: my}, Gamut: m.Gamut}
		if m.White != nil {
			s.XY.Centre = *m.White
		}
	case profiles.HueSat:
		s.Kind = solve.HueSat
		s.HueSat = &solve.HueSatSpec{Hue: 0, Sat: 1}
		if sp := m.Space; sp != nil {
			s.HueSat.Red, s.HueSat.Green, s.HueSat.Blue, s.HueSat.White = sp.Red.UV(), sp.Green.UV(), sp.Blue.UV(), sp.White.UV()
		} else if m.White != nil {
			s.HueSat.White = *m.White
		}
	default:
		return s, fmt.Errorf("mode %q has no colour to set (kind %s): mark the fixture as fixed, or choose another mode", m.Name, m.Kind)
	}
	return s, nil
}

// cctSpec carries the ideal law of the mode to code 0 and code Max, where the
// solver wants it; steps go over as they are.
func cctSpec(m *profiles.Mode) *solve.CCTSpec {
	c := m.CCT
	from, to, lo, hi := c.From, c.To, float64(c.Lo), float64(c.Hi)
	if n := len(c.Steps); n > 0 {
		from, to = c.Steps[0].Kelvin, c.Steps[n-1].Kelvin
		lo = float64(c.Steps[0].Lo+c.Steps[0].Hi) / 2
		hi = float64(c.Steps[n-1].Lo+c.Steps[n-1].Hi) / 2
	}
	s := &solve.CCTSpec{Channel: 0, MiredSteps: c.Mired, Tint: -1}
	for _, st := range c.Steps {
		s.Steps = append(s.Steps, solve.CCTStep{Lo: st.Lo, Hi: st.Hi, Kelvin: st.Kelvin})
	}
	a, z := float64(from), float64(to)
	if c.Mired {
		a, z = float64(from.Mired()), float64(to.Mired())
	}
	zero, most := carry(a, z, lo, hi, float64(c.Max))
	if c.Mired {
		s.AtZero, s.AtMax = colorcalc.Mired(zero).Kelvin(), colorcalc.Mired(most).Kelvin()
	} else {
		s.AtZero, s.AtMax = colorcalc.Kelvin(zero), colorcalc.Kelvin(most)
	}
	if t := m.Tint; t != nil {
		s.Tint = 1
		z, mx := carry(float64(t.From), float64(t.To), float64(t.Lo), float64(t.Hi), float64(t.Max))
		s.TintAtZero, s.TintAtMax = colorcalc.Duv(z), colorcalc.Duv(mx)
	}
	return s
}

func ends(p *profiles.ScaleParam) (atZero, atMax float64) {
	return carry(p.From, p.To, float64(p.Lo), float64(p.Hi), float64(p.Max))
}

// carry extends the straight line through (lo, a) and (hi, z) to 0 and max.
func carry(a, z, lo, hi, most float64) (atZero, atMax float64) {
	slope := (z - a) / (hi - lo)
	return a - slope*lo, a + slope*(most-lo)
}

// curveSpec is a profile's curve in the solver's words.
func curveSpec(c law.Curve) solve.Curve {
	to := map[law.Law]solve.Law{law.Linear: solve.Linear, law.Square: solve.Square, law.Gamma: solve.Gamma,
		law.SCurve: solve.SCurve, law.Table: solve.Table}[c.Law]
	return solve.Curve{Law: to, Gamma: c.Gamma, Table: c.Table}
}
