package main

import (
	"net/netip"
	"strings"

	"github.com/spf13/cobra"

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
	r.Stage = text
	return nil
}

// addStageFlag is --stage, of every command that may run on a simulated stage.
func addStageFlag(c *cobra.Command, to *string) {
	c.Flags().StringVar(to, "stage", "", "run on a simulated stage, at the two addresses that trueup stage says, SACN,METER")
}

// stageWords are what a command that goes on with a run of this rig needs beside the run.
func stageWords(r *rig.Rig) string {
	if r.Stage == "" {
		return ""
	}
	return " --stage " + r.Stage
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
