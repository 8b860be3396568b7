package session

import (
	"fmt"
	"slices"

	"trueup/colorcalc/spectrum"
	"trueup/loop/solve"
	"trueup/profiles"
	"trueup/profiles/law"
)

// spec tells the solver what the profile says of the head.
func (b *builder) spec(name string) (solve.Spec, error) {
	m := b.m
	s := solve.Spec{Name: name, Start: b.rest(), Address: int(b.f.Address.Slot)}
	for _, p := range b.params {
		s.Channels = append(s.Channels, solve.Channel{Name: p.Name, Max: p.Max, Lo: p.Lo, Hi: p.Hi, Slots: b.offsets(p)})
	}
	if i := b.dimmer(); i >= 0 {
		s.Dimmer = &solve.DimmerSpec{Channel: i, Level: m.Dimmer.Level()}
		s.Start[i] = b.levelCode()
	}
	switch m.Kind {
	case profiles.Emitters:
		s.Kind = solve.Emitters
		s.Curve = m.Emitters[0].Curve
		for i, e := range m.Emitters {
			s.Emitters = append(s.Emitters, solve.Emitter{Name: e.Name, UV: e.UV, SigmaUV: e.SigmaUV, Flux: e.Flux, White: e.White, Codes: e.Range})
			if e.Blind {
				s.Channels[i].Hi = s.Channels[i].Lo // stays out of matching
			} else if e.Cap < 1 {
				s.Channels[i].Hi = uint32(e.Place(e.Cap)) // rounded down, as the governor does
			}
			if e.Curve.Law != m.Emitters[0].Curve.Law {
				s.Curve = law.Curve{} // they differ: let the readings decide
			}
		}
	case profiles.CCT:
		s.Kind = solve.CCT
		s.CCT = cctSpec(m)
	case profiles.XY:
		s.Kind = solve.XY
		s.XY = &solve.XYSpec{X: 0, Y: 1, XScale: m.X.Line(), YScale: m.Y.Line(), Gamut: m.Gamut}
		if m.White != nil {
			s.XY.Centre = *m.White
		}
	case profiles.HueSat:
		s.Kind = solve.HueSat
		s.HueSat = &solve.HueSatSpec{Hue: 0, Sat: 1, HueScale: law.Hue{Line: m.Hue.Line()}, SatScale: m.Sat.Line()}
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

// offsets are the slots of a parameter, from the fixture's first as 0, coarse first.
func (b *builder) offsets(p *profiles.Param) []int {
	out := b.m.HeadSlots(p, b.head)
	for i := range out {
		out[i]--
	}
	return out
}

// mostOtherModes are told to the solver: each is held against every reading that the rig's own mode does not explain.
const mostOtherModes = 32

// otherModes tells the solver of the other modes of a fixture of one head: a lamp may be set to one of them. A mode in which it is of several heads, whose
// parameters a person sets, or that has no colour to set, is none that its light could be told by.
func (b *builder) otherModes() (all []solve.Spec) {
	if b.m.Heads.Count > 1 {
		return nil
	}
	for i := range b.f.Profile.Modes {
		if len(all) == mostOtherModes {
			break
		}
		f := *b.f
		if f.Mode = &b.f.Profile.Modes[i]; f.Mode.Name == b.m.Name || f.Mode.ByHand || f.Mode.Heads.Count > 1 {
			continue
		}
		o, err := newBuilder(&f, 0)
		if err != nil {
			continue
		}
		if s, err := o.spec(f.Mode.Name); err == nil && s.Check() == nil {
			s.Start, s.Address = nil, 0
			all = append(all, s)
		}
	}
	return all
}

// still is what stands in the fixture's slots beside what its heads move.
func (b *builder) still() ([]byte, error) {
	out := make([]byte, b.m.Footprint)
	if err := b.m.Rest(out); err != nil {
		return nil, err
	}
	for _, p := range b.shared {
		code := p.Hi
		for _, at := range slices.Backward(b.offsets(p)) {
			out[at] = byte(code)
			code >>= 8
		}
	}
	return out, nil
}

// spectra are those of the emitters; nil where the profile has none.
func (b *builder) spectra() (all []*spectrum.Kept) {
	known := false
	for i := range b.m.Emitters {
		k := spectrum.KeptOf(b.m.Emitters[i].Spectrum)
		known = known || k != nil
		all = append(all, k)
	}
	if !known {
		return nil
	}
	return all
}

func cctSpec(m *profiles.Mode) *solve.CCTSpec {
	s := &solve.CCTSpec{Channel: 0, Scale: m.CCT.Law(), Tint: -1}
	if m.Tint != nil {
		s.Tint, s.TintScale = 1, m.Tint.Law()
	}
	return s
}
