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
// integration and its latency, the lamp's response, and the ramp that the limits ask of the move before it; and a lamp that is watched has
// to stand for as long. What is above it went to the meter's windows, to the flash guard and the pace of large steps, to frames of
// the wire, and to the program. It is not told where the journal does not tell the limits, nor for lanes.
type Floor struct {
	Ramps time.Duration // least, by the curves that the profiles name and what lamps may do beside them
	rates core.Rates
	heads map[int]*core.Unit
	at    map[int]solve.Drive   // by head
	moved map[int]time.Duration // by head, since the last reading
	stood time.Duration         // the last of them
}

// Take takes one entry in.
func (f *Floor) Take(e *Entry) {
	if e.Run != nil && e.Run.Core != nil && e.Run.Rates != nil && !inLanes(e.Run.Core) {
		f.rates, f.heads, f.at, f.moved = *e.Run.Rates, map[int]*core.Unit{}, map[int]solve.Drive{}, map[int]time.Duration{}
		for i := range e.Run.Core.Units {
			if u := &e.Run.Core.Units[i]; u.Head >= 0 {
				f.heads[u.Head], f.at[u.Head] = u, u.Darkened(u.Rest)
			}
		}
	}
	if e.Event == nil {
		return
	}
	switch ev := e.Event; {
	case ev.Kind == core.Arrived:
		if u := f.heads[ev.Head]; u != nil && len(ev.Sent) == len(u.Spec.Channels) && len(f.at[ev.Head]) == len(ev.Sent) {
			f.moved[ev.Head] += f.ramp(u, f.at[ev.Head], ev.Sent)
			f.at[ev.Head], f.stood = ev.Sent, max(f.stood, ev.When)
		}
	case ev.Kind == core.Read && ev.Reading != nil && !e.Glimpse(): // what moved before it moved at the same time
		longest := time.Duration(0)
		for _, d := range f.moved {
			longest = max(longest, d)
		}
		during := max(0, f.stood-(ev.Reading.At-ev.Reading.Integration)) // of a reading that began early
		f.Ramps += max(0, longest-during)
		clear(f.moved)
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
	if f.heads == nil || s.Readings == 0 {
		return 0, false
	}
	return s.Integration + s.Latency + s.Settle + s.Watch + f.Ramps, true
}
