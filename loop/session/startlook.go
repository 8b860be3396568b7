package session

import (
	"fmt"
	"slices"
	"strings"

	"trueup/loop/session/rig"
	"trueup/loop/solve"
)

// Without a desk nobody can ask a fixture what it shows. So the first packet has what the profile says of it (start:), and dark where that says nothing: from there on
// the limits hold. What a fixture truly shows may be another thing, and then it jumps, up or down; no limit of ours can help that.

// startShown is the most fixtures that LitAtOnce names.
const startShown = 6

// LitAtOnce says which fixtures the first packet of a run has with light, because their profiles say that they begin so, and what comes of it
// where that is not true. "" for none, and in an overlay, where the desk tells how each stands.
func (c *Compiled) LitAtOnce(r *rig.Rig) string {
	if r.Output.Mode == rig.Overlay {
		return ""
	}
	var names []string
	for _, u := range c.Units {
		if u.Head >= 0 && u.startsLit() {
			names = append(names, u.Info.Name)
		}
	}
	if len(names) == 0 {
		return ""
	}
	if more := len(names) - startShown; more > 0 {
		names = append(names[:startShown], fmt.Sprintf("%d more", more))
	}
	return fmt.Sprintf("the first packet has light of %s, at once and by no limit: their profiles say that they show it now (start:), and without a desk nobody can tell. One that is dark now jumps to it; if so, take start: out",
		strings.Join(names, ", "))
}

// startsLit tells whether the unit gives light at its start levels, as far as its profile tells: that needs a dimmer that is not down and, in a mode
// that mixes, an emitter that is not.
func (u *Unit) startsLit() bool {
	if len(u.Dark) == 0 || slices.Equal(u.Darkened(u.Rest), u.Rest) {
		return false
	}
	if u.Spec.Kind != solve.Emitters {
		return true
	}
	for i, ch := range u.Spec.Channels {
		if (u.Spec.Dimmer == nil || i != u.Spec.Dimmer.Channel) && u.Rest[i] > ch.Lo {
			return true
		}
	}
	return false
}
