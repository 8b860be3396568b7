package feed

import (
	"fmt"
	"slices"
	"time"

	"trueup/loop/feed/instrument"
)

// verdict is what became of a message.
type verdict struct {
	ended bool // it ended a reading, good or bad
	taken int  // readings that count
	fast  bool // dropped by the rate bound
}

// and sums verdicts of several lines up.
func (v verdict) and(w verdict) verdict {
	return verdict{v.ended || w.ended, v.taken + w.taken, v.fast || w.fast}
}

// setAside counts messages that do not count.
func (f *Feed) setAside(as ...Aside) {
	if len(as) == 0 {
		return
	}
	f.mu.Lock()
	for _, a := range as {
		f.aside[a.Reason]++
	}
	f.mu.Unlock()
	for _, a := range as {
		f.cfg.Log.Debug().Str("feed", f.cfg.Name).Str("reason", string(a.Reason)).Str("words", a.Words).Msg("set aside")
		f.tell(Event{Aside: &a})
	}
}

// message takes one raw message through rate bound, decoder and acceptance.
func (f *Feed) message(l *link, m instrument.Message, now time.Time) verdict {
	f.mu.Lock()
	if len(m.Data) > 0 && !l.rate.allow(now) { // the second half of CR LF is free
		f.mu.Unlock()
		f.setAside(Aside{Reason: TooFast, Words: fmt.Sprintf("more than %d a second", f.cfg.MaxRate), Raw: instrument.Cut(m.Data)})
		return verdict{fast: true}
	}
	drafts, asides := l.dec.Decode(m, now)
	return f.settle(l, drafts, asides, now)
}

// take accepts a draft that did not come as a message.
func (f *Feed) take(d instrument.Draft, now time.Time) {
	f.mu.Lock()
	f.settle(nil, []instrument.Draft{d}, nil, now)
}

// settle accepts or refuses drafts, and tells everybody. It takes the lock over. l is nil
// for what did not come over a link.
func (f *Feed) settle(l *link, drafts []instrument.Draft, asides []Aside, now time.Time) verdict {
	ended := len(drafts)+len(asides) > 0
	var fresh []Reading
	for _, d := range drafts {
		r, a := f.accept.take(d, now)
		if a != nil {
			asides = append(asides, *a)
			continue
		}
		if r.Flags.Has(NotWhite) { // set aside, and kept for who asks for it
			f.hold(r)
			f.announce()
			continue
		}
		f.push(r, now)
		fresh = append(fresh, r)
	}
	if l != nil && len(fresh) > 0 {
		l.last = now
	}
	turned := len(fresh) > 0 && f.state != Live
	if len(fresh) > 0 {
		f.state, f.why = Live, ""
		f.announce()
	}
	f.mu.Unlock()
	f.setAside(asides...)
	if turned {
		f.tellStatus()
	}
	for i := range fresh {
		f.tell(Event{Reading: &fresh[i]})
	}
	return verdict{ended: ended, taken: len(fresh)}
}

// hold appends to the ring. The lock is held.
func (f *Feed) hold(r Reading) {
	if len(f.ring) == keep {
		f.ring = append(f.ring[:0], f.ring[1:]...)
		f.first++
	}
	f.ring = append(f.ring, r)
}

// push takes in a reading that counts. The lock is held.
func (f *Feed) push(r Reading, now time.Time) {
	f.hold(r)
	f.accepted++
	f.last = now
	if !slices.Contains(f.probes, r.Probe) && len(f.probes) < maxProbes {
		f.probes = append(f.probes, r.Probe)
	}
}

// maxProbes bounds what a wild sender can make us remember.
const maxProbes = 256

// rate is a bound per second of wall time.
type rate struct {
	perSecond int
	start     time.Time
	n         int
}

func (r *rate) allow(now time.Time) bool {
	if d := now.Sub(r.start); d < 0 || d >= time.Second {
		r.start, r.n = now, 0
	}
	r.n++
	return r.n <= r.perSecond
}
