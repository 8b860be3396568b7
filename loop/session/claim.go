package session

import (
	"fmt"
	"net/netip"
	"slices"
	"strconv"
	"strings"
	"time"

	"trueup/dmx"
	"trueup/loop/session/rig"
)

// Claim is what a run takes for itself on this machine while it sends. It is
// kept in a file that other runs read; what they find there is checked, for
// anybody may have written it.
type Claim struct {
	PID       int              `json:"pid"`
	Rig       string           `json:"rig"`
	Since     time.Time        `json:"since"`
	CID       string           `json:"cid"`
	Network   string           `json:"network,omitempty"` // of the machine's networks, where it has several that know nothing of each other
	Universes []dmx.Universe   `json:"universes"`
	Local     []netip.AddrPort `json:"local,omitempty"` // all receivers, where they are programs of this machine; none: the lighting network
}

// NewClaim is the claim of a run of r that sends universes under cid.
func NewClaim(r *rig.Rig, cid string, universes []dmx.Universe, now time.Time) Claim {
	c := Claim{PID: ownPID, Rig: r.Name, Since: now.Truncate(time.Second), CID: cid, Network: networkOfThisProcess(), Universes: universes}
	if r.Output.Local() {
		c.Local = r.Output.Unicast
	}
	return c
}

// Against says why two runs cannot go on beside each other; "" where they can.
// On the lighting network an installation is one source, so it can run but once
// there, and a universe is one run's. Programs of this machine hear only what
// is sent to their own port.
func (c Claim) Against(other Claim) string {
	if c.Network != other.Network {
		return ""
	}
	lan := len(c.Local) == 0 && len(other.Local) == 0
	if lan && c.CID == other.CID {
		return "this installation is one source to every receiver"
	}
	for _, u := range c.Universes {
		if !slices.Contains(other.Universes, u) {
			continue
		}
		if lan {
			return fmt.Sprintf("it drives universe %d", u)
		}
		for _, to := range c.Local {
			if slices.Contains(other.Local, to) {
				return fmt.Sprintf("it drives universe %d of the receiver at %v", u, to)
			}
		}
	}
	return ""
}

// String names the run of a claim to a person. The name of the rig is
// anybody's text, so it is quoted.
func (c Claim) String() string {
	var us []string
	for _, u := range c.Universes[:min(len(c.Universes), shownUniverses)] {
		us = append(us, fmt.Sprint(u))
	}
	if len(c.Universes) > shownUniverses {
		us = append(us, "...")
	}
	return fmt.Sprintf("rig %s, process %d, since %s, universe %s", strconv.Quote(c.Rig), c.PID, c.Since.Local().Format("15:04:05"), strings.Join(us, ", "))
}

// shownUniverses is how many universes of a run are named.
const shownUniverses = 8
