package feed

import (
	"context"
	"fmt"
	"slices"
	"time"

	"trueup/profiles/oserror"
)

// wait gives out the first reading that serves, of those since the probe's cursor that are not for another who waits longer. Each
// reading that is set aside for this one is told by aside; nil: none is.
func (f *Feed) wait(ctx context.Context, want demand, aside func(Reading) Aside) (Reading, error) {
	want.over, want.failed = new(bool), new(error)
	f.mu.Lock()
	want.from = max(f.cursor[want.probe], f.first)
	f.queue[want.probe] = append(f.queue[want.probe], want)
	f.mu.Unlock()
	for seen := want.from; ; {
		f.mu.Lock()
		i, served := f.turn(want)
		upTo := f.first + uint64(len(f.ring))
		if served {
			upTo = i
		}
		var skipped []Aside
		for seen = max(seen, f.first); seen < upTo; seen++ {
			if r := f.ring[seen-f.first]; aside != nil && want.matches(r) && !want.serves(r) {
				skipped = append(skipped, aside(r))
			}
		}
		changed, ended := f.changed, f.ended
		if *want.failed != nil {
			ended = *want.failed
		}
		var r Reading
		switch {
		case served:
			r = f.ring[i-f.first]
			f.give(want, i)
		case ended != nil:
			f.leaves(want)
			f.announce()
		}
		f.mu.Unlock()
		f.setAside(skipped...)
		switch {
		case served:
			return r, nil
		case ended != nil:
			return Reading{}, ended
		}
		select {
		case f.demand <- want:
		default: // the last one has not been heard yet
		}
		select {
		case <-changed:
		case <-ctx.Done():
			f.mu.Lock()
			f.leaves(want)
			f.announce() // what was for this one is for another now
			f.mu.Unlock()
			return Reading{}, f.explain(ctx.Err())
		}
	}
}

// turn is the index of the reading that is for somebody who waits, if there is one: of those who wait for a probe each gets the first that serves, and who
// waits the longest is asked first. Else one who is served and asks anew at once could leave another without any. The lock is held.
func (f *Feed) turn(who demand) (i uint64, ok bool) {
	for k := range f.queue[who.probe] {
		w := &f.queue[who.probe][k]
		w.gets, ok = f.firstFor(*w, f.queue[who.probe][:k])
		w.served = ok
		if w.over == who.over {
			return w.gets, ok
		}
	}
	return 0, false
}

// firstFor is the index of the first reading that serves somebody, is not given out, and is not for one of those before them. The lock is held.
func (f *Feed) firstFor(w demand, before []demand) (i uint64, ok bool) {
	for i := max(w.from, f.first); i < f.first+uint64(len(f.ring)); i++ {
		r := f.ring[i-f.first]
		taken := slices.ContainsFunc(before, func(o demand) bool { return o.served && o.gets == i })
		if !taken && !f.given[w.probe][i] && w.matches(r) && w.serves(r) {
			return i, true
		}
	}
	return 0, false
}

// give takes a reading out for somebody who waits; none before it is given to those who ask later. The lock is held.
func (f *Feed) give(to demand, i uint64) {
	f.leaves(to)
	f.cursor[to.probe] = max(f.cursor[to.probe], i+1)
	if len(f.queue[to.probe]) == 0 {
		delete(f.given, to.probe)
		return
	}
	if f.given[to.probe] == nil {
		f.given[to.probe] = map[uint64]bool{}
	}
	f.given[to.probe][i] = true
}

// leaves notes that somebody waits no more. The lock is held.
func (f *Feed) leaves(who demand) {
	*who.over = true
	f.queue[who.probe] = slices.DeleteFunc(f.queue[who.probe], func(o demand) bool { return o.over == who.over })
}

// demand is somebody who waits for a reading.
type demand struct {
	probe   string
	settled time.Time
	dark    bool   // a reading too dark for a colour serves
	any     bool   // so does one of a colour that the instrument can not tell
	over    *bool  // nobody waits any more; guarded by the feed's lock
	failed  *error // why this one will not be served; guarded by the feed's lock
	from    uint64 // the first reading that may serve
	gets    uint64 // the reading that is for this one, if
	served  bool   // there is one
}

func (d demand) matches(r Reading) bool {
	return (d.dark || !r.Flags.Has(Underrange)) && (d.any || !r.Flags.Has(NotWhite)) && (d.probe == "" || r.Probe == d.probe)
}

// serves tells whether a reading was made late enough.
func (d demand) serves(r Reading) bool { return !r.Began().Before(d.settled) }

// fail tells one who waits that there will be no reading, and why.
func (f *Feed) fail(d demand, err error) {
	f.mu.Lock()
	*d.failed = err
	f.announce()
	f.mu.Unlock()
}

// needed reports whether somebody still waits, and no reading that serves has
// come meanwhile.
func (f *Feed) needed(d demand) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	_, served := f.turn(d)
	if *d.over || *d.failed != nil || served {
		f.announce() // it may have kept another from being heard: who waits says so again
		return false
	}
	return true
}

// explain adds to a time-out why the feed had nothing to give.
func (f *Feed) explain(err error) error {
	s := f.Status()
	switch {
	case s.State == Live:
		return fmt.Errorf("feed %s: no reading that counts: %w", f.cfg.Name, oserror.Plain(err))
	case s.State == Waiting:
		return fmt.Errorf("feed %s: %s: %w", f.cfg.Name, s.Why, oserror.Plain(err))
	}
	return fmt.Errorf("feed %s is %v (%s): %w", f.cfg.Name, s.State, s.Why, oserror.Plain(err))
}
