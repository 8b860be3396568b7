package main

import "trueup/loop/session/rig"

// applyTo fills in what a rig leaves to the machine: the interface of multicast,
// and whether it goes by IPv6.
func (s *settings) applyTo(o *rig.Output) {
	if s.Interface != "" && len(o.Interfaces) == 0 {
		o.Interfaces = []string{s.Interface}
	}
	if o.IPv6 == "" {
		o.IPv6 = rig.IPv6Use(s.IPv6)
	}
}
