package main

import "trueup/loop/session/rig"

// applyTo fills in what a rig leaves to the machine: the interface of multicast.
func (s *settings) applyTo(o *rig.Output) {
	if s.Interface != "" && len(o.Interfaces) == 0 {
		o.Interfaces = []string{s.Interface}
	}
}
