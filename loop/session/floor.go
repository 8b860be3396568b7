package session

import (
	"math"
	"time"

	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/profiles/law"
	"trueup/safety"
)

// Floor is the least time that the readings of a run could have been made in, one after another: each costs its
// integration and its latency, the lamp's response, and the ramp that the limits ask of the move before it. What
// is above it went to the meter's windows, to the flash guard and the pace of large steps, to frames of the wire, and to the
// program. It is not told where the journal does not tell the limits, nor for lanes.
type Floor struct {
	Ramps time.Duration // least, by the curves that the profiles name and what lamps may do beside them
	rates core.Rates
	units map[string]*core.Unit
	at    map[string]solve.Drive
	lit   *core.Unit
}

// Take takes one entry in.
func (f *Floor) Take(e *Entry) {
	switch {
	case e.Run != nil && e.Run.Core != nil && e.Run.Rates != nil && !inLanes(e.Run.Core):
		f.rates, f.units, f.at = *e.Run.Rates, map[string]*core.Unit{}, map[string]solve.Drive{}
		for i := range e.Run.Core.Units {
			u := &e.Run.Core.Units[i]
			f.units[u.Info.Name], f.at[u.Info.Name] = u, u.Darkened(u.Rest)
		}
	case e.Kind == core.KindSent && e.Step != nil:
		u := f.units[e.Fixture]
		if u == nil || len(e.Step.Codes) != len(u.Spec.Channels) || len(f.at[e.Fixture]) != len(e.Step.Codes) {
			return
		}
		ramp := f.ramp(u, f.at[e.Fixture], e.Step.Codes)
		if o := f.lit; o != nil && o != u { // the lamp before fades out at the same time
			dark := o.Darkened(f.at[o.Info.Name])
			ramp = max(ramp, f.ramp(o, f.at[o.Info.Name], dark))
			f.at[o.Info.Name] = dark
		}
		f.lit, f.at[e.Fixture] = u, e.Step.Codes
		f.Ramps += ramp
	}
}

// inLanes tells whether lamps may have been worked at side by side.
func inLanes(c *core.Config) bool {
	probes := map[string]bool{}
	for i := range c.Units {
		if u := &c.Units[i]; u.Head >= 0 && u.Info.Name != c.Plan.Target.Reference {
			probes[u.Info.Probe] = true
		}
	}
	return c.Plan.Lanes > 1 && len(probes) > 1
}

// ramp is the least time from codes to codes. What a dark lamp is set to beside its dimmer was set before, while another was read.
func (f *Floor) ramp(u *core.Unit, from, to solve.Drive) time.Duration {
	s := &u.Spec
	dark := s.Dimmer != nil && from[s.Dimmer.Channel] == s.Scale(s.Dimmer.Channel).Lo
	longest := 0.0
	for i, c := range s.Channels {
		if dark && i != s.Dimmer.Channel {
			continue
		}
		a, b, up, down := float64(from[i])/float64(c.Max), float64(to[i])/float64(c.Max), f.rates.Colour, f.rates.Colour
		if light, ok := s.Light(i); ok {
			declared := light.Curve.Law != law.Unknown
			a, b = safety.Pace(light.Light(from[i]), declared), safety.Pace(light.Light(to[i]), declared)
			up, down = f.rates.Rise, f.rates.Fall
		}
		longest = max(longest, (b-a)/up, (a-b)/down)
	}
	if math.IsNaN(longest) || longest > 3600 {
		return 0
	}
	return time.Duration(longest * float64(time.Second))
}

// Of is the floor of a run that waited so; false where it can not be told.
func (f *Floor) Of(s Spent) (time.Duration, bool) {
	if f.units == nil || s.Readings == 0 {
		return 0, false
	}
	return s.Integration + s.Latency + s.Settle + f.Ramps, true
}
