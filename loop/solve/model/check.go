package model

import (
	"errors"
	"fmt"
	"math"

	"trueup/colorcalc"
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
	has := func(i int) bool { return i >= 0 && i < n }
	switch s.Kind {
	case Emitters:
		if len(s.Emitters) == 0 || len(s.Emitters) > MaxEmitters || len(s.Emitters) > n {
			return fmt.Errorf("head has %d emitters on %d channels: want 1 to %d, each with its channel", len(s.Emitters), n, MaxEmitters)
		}
		for i, e := range s.Emitters {
			if !(e.UV.U > 0 && e.UV.V > 0 && e.UV.U < 0.7 && e.UV.V < 0.65) || !(e.Flux >= 0 && e.Flux < 1e9) || !(e.SigmaUV >= 0 && e.SigmaUV < 1) || !(e.Droop >= 0 && e.Droop < 2) {
				return fmt.Errorf("emitter %d (%s): u'v' (%.4f, %.4f) with flux %g is no light", i+1, e.Name, e.UV.U, e.UV.V, e.Flux)
			}
		}
		if err := s.Curve.check(); err != nil {
			return err
		}
	case CCT:
		c := s.CCT
		if c == nil || !has(c.Channel) || c.Tint >= n {
			return errors.New("cct mode without its channels")
		}
		for _, k := range []colorcalc.Kelvin{c.AtZero, c.AtMax} {
			if !(k > 500 && k < 200000) {
				return fmt.Errorf("cct mode: %g K at the end of the scale must lie between 500 and 200000 K", float64(k))
			}
		}
		for i, st := range c.Steps {
			if st.Lo > st.Hi || i > 0 && st.Lo <= c.Steps[i-1].Hi || !(st.Kelvin > 500 && st.Kelvin < 200000) {
				return fmt.Errorf("cct mode: step %d (codes %d to %d, %g K) is out of order or no colour temperature", i+1, st.Lo, st.Hi, float64(st.Kelvin))
			}
		}
		if !(math.Abs(float64(c.TintAtZero)) < 0.2 && math.Abs(float64(c.TintAtMax)) < 0.2) {
			return fmt.Errorf("cct mode: tint from %g to %g is beyond any Duv", float64(c.TintAtZero), float64(c.TintAtMax))
		}
	case XY:
		if s.XY == nil || !has(s.XY.X) || !has(s.XY.Y) {
			return errors.New("xy mode without its channels")
		}
		v := s.XY.AtZero.X + s.XY.AtZero.Y + s.XY.AtMax.X + s.XY.AtMax.Y
		if math.IsNaN(v) || math.Abs(v) > 100 {
			return errors.New("xy mode: the ends of the scale are not chromaticities")
		}
	case HueSat:
		if s.HueSat == nil || !has(s.HueSat.Hue) || !has(s.HueSat.Sat) {
			return errors.New("hue and saturation mode without its channels")
		}
	default:
		return fmt.Errorf("kind %d of mode is not known", int(s.Kind))
	}
	if s.Dimmer != nil {
		if !has(s.Dimmer.Channel) {
			return errors.New("dimmer without its channel")
		}
		if err := s.Dimmer.Curve.check(); err != nil {
			return fmt.Errorf("dimmer: %w", err)
		}
	}
	if s.Start != nil && len(s.Start) != n {
		return fmt.Errorf("look as found has %d codes for %d channels", len(s.Start), n)
	}
	return nil
}
