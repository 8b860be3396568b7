package session

import (
	"fmt"

	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/loop/feed"
)

// Health is how everything outside is doing that a run needs, at one moment.
type Health struct {
	Feeds []feed.Status    // nil where nothing is read
	Ways  []sacn.LinkState // out to the lamps; nil where nothing is sent
	// Overlay: our slots lie over a desk's. NoDesk are the universes where that desk is not heard any more, Above
	// who owns the light at a higher priority.
	Overlay bool
	NoDesk  []dmx.Universe
	Above   []string
	// HeldBack counts the frames in which the flash guard held a head back.
	HeldBack int
	Lateness sacn.Lateness // of the frames that were sent
}

// Health tells how what the run needs is doing. It may be called from any goroutine once the run
// is open.
func (r *Run) Health() Health {
	var h Health
	if r.meters != nil {
		for _, f := range r.meters.feeds {
			h.Feeds = append(h.Feeds, f.Status())
		}
	}
	if r.door == nil {
		return h
	}
	h.Ways, h.HeldBack, h.Lateness = r.door.Links(), r.door.Governor().HeldBack(), r.door.Lateness()
	if b := r.door.base; b != nil {
		h.Overlay = true
		for _, u := range r.job.universes() {
			var dst [dmx.SlotsPerUniverse]byte
			if _, state := b.Look(u, &dst); state != sacn.BaseLive {
				h.NoDesk = append(h.NoDesk, u)
			}
		}
		for _, s := range b.Above(r.door.priority) {
			h.Above = append(h.Above, fmt.Sprintf("%q at priority %d", s.Name, s.Priority))
		}
	}
	return h
}
