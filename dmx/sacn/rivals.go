package sacn

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// ErrContended is wrapped by errors that name another source on our universes.
var ErrContended = errors.New("another source on our universes")

// twinPackets is how many packets with our own CID that are not ours make a
// source of their own. One could be damage; who sends at all says four in 70 ms.
const twinPackets = 2

// Claim is the highest priority by which a receiver may give s a slot: those
// that read per-address priorities go by these, all others by the packets'.
func (s SourceInfo) Claim() uint8 { return max(s.Top, s.Priority) }

// contends tells whether s and a stream of ours at priority cannot both have
// the universe: s would show where our levels should, or merge with them, or
// takes our sequence numbers for its own.
func (s SourceInfo) contends(priority uint8) bool {
	switch {
	case s.Gone != 0:
		return false
	case s.Twin:
		return s.Packets >= twinPackets
	}
	return !s.Preview && s.Claim() >= priority
}

// contenders are the sources of all that contend with a stream at priority.
// Before anything is sent a run of our kind elsewhere is one of them at any
// priority: we would take its lamps while it measures them.
func contenders(all []SourceInfo, priority uint8, sending bool) []SourceInfo {
	var list []SourceInfo
	for _, s := range all {
		if s.contends(priority) || !sending && s.Gone == 0 && !s.Preview && s.CID.Ours() && !s.Twin {
			list = append(list, s)
		}
	}
	return list
}

// contended says who contends with a stream of ours at priority, and what to
// do; nil where nobody does. Names come from the network and are quoted.
func contended(list []SourceInfo, priority uint8) error {
	if len(list) == 0 {
		return nil
	}
	var lines []string
	for _, s := range list {
		who := fmt.Sprintf("universe %d: source %s (CID %v, %v) sends at priority %d", s.Universe, strconv.Quote(s.Name), s.CID, s.From, s.Claim())
		switch {
		case s.Twin:
			who += ", with our own CID: another run of this installation, or a computer to which its settings were copied; end it, or delete the file cid of one of the two"
		case s.CID.Ours():
			who += ": another run of our kind; end it first, or leave this universe to it"
		case s.Claim() >= MaxPriority:
			who += fmt.Sprintf(", we at %d, and nothing can go above: end its stream, or lower its priority", priority)
		default:
			who += fmt.Sprintf(", we at %d: the fixtures would not be ours alone. End its stream, or give this run a higher priority, or lay our slots over its stream (mode: overlay)", priority)
		}
		lines = append(lines, who)
	}
	return fmt.Errorf("%w: %s", ErrContended, strings.Join(lines, "; "))
}
