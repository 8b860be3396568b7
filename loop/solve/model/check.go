package model

import (
	"errors"
	"fmt"
	"math"

	"trueup/colorcalc"
	"trueup/profiles/law"
)

// Check says what is wrong with a spec, or nil.
func (s *Spec) Check() error {
	n := len(s.Channels)
	if n == 0 {
		return errors.New("head has no channels to move")
	}
	for i, c := range s.Channels {
		if c.Max == 0 || c.Lo > c.Hi || c.Hi > c.Max {
			return fmt.Errorf("channel %d (%s): codes %d..%d of %d can not be driven", i+1, c.Name, c.Lo, c.Hi, c.Max)
		}
	}
	if err := s.checkKind(n); err != nil {
		return err
	}
	if s.Dimmer != nil {
		if !has(n, s.Dimmer.Channel) {
			return errors.New("dimmer without its channel")
		}
		if err := s.Dimmer.Level.Curve.Check(); err != nil {
			return fmt.Errorf("dimmer: %w", err)
		}
	}
	for i, c := range s.Channels {
		if r := s.Scale(i); r.Max != c.Max || r.Lo >= r.Hi || r.Hi > r.Max {
			return fmt.Errorf("channel %d (%s): a scale over codes %d..%d of %d is none of its codes to %d", i+1, c.Name, r.Lo, r.Hi, r.Max, c.Max)
		}
	}
	if s.Start != nil && len(s.Start) != n {
		return fmt.Errorf("look as found has %d codes for %d channels", len(s.Start), n)
	}
	for i := range s.Modes {
		if err := s.Modes[i].Check(); err != nil {
			return fmt.Errorf("mode %q: %w", s.Modes[i].Name, err)
		}
	}
	return nil
}

func has(n, channel int) bool { return channel >= 0 && channel < n }

func (s *Spec) checkKind(n int) error {
	switch s.Kind {
	case Emitters:
		return s.checkEmitters(n)
	case CCT:
		return s.CCT.check(n)
	case XY:
		if s.XY == nil || !has(n, s.XY.X) || !has(n, s.XY.Y) {
			return errors.New("xy mode without its channels")
		}
		return errors.Join(checkLine("x", s.XY.XScale, mostXY), checkLine("y", s.XY.YScale, mostXY))
	case HueSat:
		if s.HueSat == nil || !has(n, s.HueSat.Hue) || !has(n, s.HueSat.Sat) {
			return errors.New("hue and saturation mode without its channels")
		}
		return errors.Join(checkLine("hue", s.HueSat.HueScale.Line, mostDegrees), checkLine("saturation", s.HueSat.SatScale, mostSaturation))
	}
	return fmt.Errorf("kind %d of mode is not known", int(s.Kind))
}

func (s *Spec) checkEmitters(n int) error {
	if len(s.Emitters) == 0 || len(s.Emitters) > MaxEmitters || len(s.Emitters) > n {
		return fmt.Errorf("head has %d emitters on %d channels: want 1 to %d, each with its channel", len(s.Emitters), n, MaxEmitters)
	}
	for i, e := range s.Emitters {
		if !Light(e.UV) || !(e.Flux >= 0 && e.Flux < 1e9) || !(e.SigmaUV >= 0 && e.SigmaUV < 1) || !(e.Droop >= 0 && e.Droop < 2) {
			return fmt.Errorf("emitter %d (%s): u'v' (%.4f, %.4f) with flux %g is no light", i+1, e.Name, e.UV.U, e.UV.V, e.Flux)
		}
	}
	return s.Curve.Check()
}

// Light reports whether a chromaticity lies where any light may: about the
// spectral locus and the line of purples.
func Light(c colorcalc.UV) bool { return c.U > 0 && c.V > 0 && c.U < mostU && c.V < mostV }

func (c *CCTSpec) check(n int) error {
	if c == nil || !has(n, c.Channel) || c.Tint >= n {
		return errors.New("cct mode without its channels")
	}
	for _, k := range []colorcalc.Kelvin{c.Scale.From, c.Scale.To} {
		if len(c.Scale.Steps) == 0 && !(k > leastKelvin && k < mostKelvin) {
			return fmt.Errorf("cct mode: %g K at the end of the scale must lie between %g and %g K", float64(k), leastKelvin, mostKelvin)
		}
	}
	for i, st := range c.Scale.Steps {
		if st.Lo > st.Hi || i > 0 && st.Lo <= c.Scale.Steps[i-1].Hi || !(st.Kelvin > leastKelvin && st.Kelvin < mostKelvin) {
			return fmt.Errorf("cct mode: step %d (codes %d to %d, %g K) is out of order or no colour temperature", i+1, st.Lo, st.Hi, float64(st.Kelvin))
		}
	}
	if t := c.TintScale; !(math.Abs(float64(t.From)) < mostTint && math.Abs(float64(t.To)) < mostTint) {
		return fmt.Errorf("cct mode: tint from %g to %g is beyond any Duv", float64(t.From), float64(t.To))
	}
	return nil
}

// checkLine refuses a scale that turns nothing or reaches beyond its quantity.
func checkLine(name string, l law.Line, most float64) error {
	if !(math.Abs(l.From) <= most && math.Abs(l.To) <= most) || l.From == l.To {
		return fmt.Errorf("a scale of %s from %g to %g is none", name, l.From, l.To)
	}
	return nil
}
