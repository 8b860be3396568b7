package sacn

import (
	"bytes"
	"net/netip"
	"slices"
	"time"

	"trueup/dmx"
)

const (
	maxListings = 64 // sources whose announcements are kept
	maxPages    = 8  // 4096 universes of one source; more is nonsense or an attack
	listingKept = 2*discoveryInterval + time.Second
)

// Listing is what one source announces by universe discovery (clause 8). Name
// is text from the network.
type Listing struct {
	CID       CID
	Name      string
	From      netip.Addr
	Universes []dmx.Universe // ascending
	At        time.Time
}

type listings struct{ all []*listing }

type listing struct {
	Listing
	pages [maxPages][]dmx.Universe
}

// take is a discovery packet that passed the gate. A page replaces the same
// page of the set before; what lies beyond the last page is forgotten.
func (ls *listings) take(now time.Time, from netip.Addr, b []byte) Reason {
	page, last := int(b[offPage]), int(b[offLastPage])
	if last >= maxPages {
		return BadList
	}
	cid := CID(b[offCID : offCID+16])
	i := slices.IndexFunc(ls.all, func(l *listing) bool { return l.CID == cid })
	if i < 0 {
		if len(ls.all) >= maxListings {
			return TooMany
		}
		i = len(ls.all)
		ls.all = append(ls.all, &listing{Listing: Listing{CID: cid}})
	}
	l := ls.all[i]
	name, _, _ := bytes.Cut(b[offName:offName+nameLength], []byte{0})
	l.Name, l.From, l.At = string(name), from, now
	l.pages[page] = nil
	for j := offList; j < len(b); j += 2 {
		l.pages[page] = append(l.pages[page], dmx.Universe(be.Uint16(b[j:])))
	}
	clear(l.pages[last+1:])
	l.Universes = nil
	for _, p := range l.pages {
		l.Universes = append(l.Universes, p...)
	}
	slices.Sort(l.Universes)
	l.Universes = slices.Compact(l.Universes)
	return Accepted
}

// expire forgets a source that has not announced for two intervals (clause 12).
func (ls *listings) expire(now time.Time) {
	ls.all = slices.DeleteFunc(ls.all, func(l *listing) bool { return now.Sub(l.At) > listingKept })
}

func (ls *listings) list() []Listing {
	var out []Listing
	for _, l := range ls.all {
		c := l.Listing
		c.Universes = slices.Clone(c.Universes)
		out = append(out, c)
	}
	slices.SortFunc(out, func(a, b Listing) int { return bytes.Compare(a.CID[:], b.CID[:]) })
	return out
}
