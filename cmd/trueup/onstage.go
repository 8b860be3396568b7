package main

import (
	"net/netip"
	"strings"

	"trueup/loop/session/rig"
)

// onStage turns a rig to a simulated stage: levels go there and nowhere else,
// readings come from there. Feeds with a person behind them stay as they are.
// An empty text leaves the rig as its file says.
func onStage(r *rig.Rig, text string) error {
	if text == "" {
		return nil
	}
	sacn, meter, ok := strings.Cut(text, ",")
	at, err := netip.ParseAddrPort(sacn)
	if !ok || err != nil || meter == "" {
		return usageError("--stage %q: want the two addresses that trueup stage says, such as 127.0.0.1:5568,127.0.0.1:7311", text)
	}
	toStage(r, at, meter)
	return nil
}

func toStage(r *rig.Rig, sacn netip.AddrPort, meter string) {
	r.Output.Multicast, r.Output.Unicast = false, []netip.AddrPort{sacn}
	for i := range r.Feeds {
		f := &r.Feeds[i]
		if f.Kind != "hand" {
			f.Kind, f.Address, f.Instrument = "tcp", meter, ""
		}
	}
}
