package feed

import (
	"sync"
	"time"
)

// peers keeps a link for each of those who share one transport, by address or
// topic, so that each has its own lines and its own rate.
type peers struct {
	f    *Feed
	mu   sync.Mutex
	by   map[string]*sender
	rest *link // of all who came when there was no place
}

type sender struct {
	link *link
	seen time.Time
}

// Bounds against one who sends under many names. Whoever was heard lately keeps
// the place; all above the bound share one link.
const (
	maxPeers = 256
	peerRest = 10 * time.Second // without a message: the place is free
)

func newPeers(f *Feed) *peers { return &peers{f: f, by: map[string]*sender{}, rest: newLink(f)} }

// of finds the link of a peer.
func (p *peers) of(name string, now time.Time) *link {
	p.mu.Lock()
	defer p.mu.Unlock()
	if have := p.by[name]; have != nil {
		have.seen = now
		return have.link
	}
	if len(p.by) >= maxPeers && !p.free(now) {
		return p.rest
	}
	p.by[name] = &sender{newLink(p.f), now}
	return p.by[name].link
}

// free gives up the place of those who have been silent.
func (p *peers) free(now time.Time) bool {
	for name, have := range p.by {
		if now.Sub(have.seen) > peerRest {
			delete(p.by, name)
		}
	}
	return len(p.by) < maxPeers
}
