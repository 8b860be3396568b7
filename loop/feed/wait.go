package feed

import (
	"context"
	"fmt"
	"time"

	"trueup/profiles/oserror"
)

// wait gives out the first reading at or behind the probe's cursor that ok takes.
func (f *Feed) wait(ctx context.Context, want demand, ok func(Reading) (bool, *Aside)) (Reading, error) {
	want.over, want.failed = new(bool), new(error)
	for {
		f.mu.Lock()
		var skipped []Aside
		i := max(f.cursor[want.probe], f.first)
		for ; i < f.first+uint64(len(f.ring)); i++ {
			r := f.ring[i-f.first]
			if !want.matches(r) {
				continue
			}
			good, why := ok(r)
			if why != nil {
				skipped = append(skipped, *why)
			}
			if good {
				f.cursor[want.probe] = i + 1
				*want.over = true
				f.mu.Unlock()
				f.setAside(skipped...)
				return r, nil
			}
		}
		f.cursor[want.probe] = i
		changed, ended := f.changed, f.ended
		if *want.failed != nil {
			ended = *want.failed
		}
		*want.over = ended != nil
		f.mu.Unlock()
		f.setAside(skipped...)
		if ended != nil {
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
			*want.over = true
			f.mu.Unlock()
			return Reading{}, f.explain(ctx.Err())
		}
	}
}

// demand is somebody who waits for a reading.
type demand struct {
	probe   string
	settled time.Time
	dark    bool   // a reading too dark for a colour serves
	any     bool   // so does one of a colour that the instrument can not tell
	over    *bool  // nobody waits any more; guarded by the feed's lock
	failed  *error // why this one will not be served; guarded by the feed's lock
}

func (d demand) matches(r Reading) bool {
	return (d.dark || !r.Flags.Has(Underrange)) && (d.any || !r.Flags.Has(NotWhite)) && (d.probe == "" || r.Probe == d.probe)
}

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
	if *d.over || *d.failed != nil || f.served(d) {
		f.announce() // it may have kept another from being heard: who waits says so again
		return false
	}
	return true
}

// served reports whether there is a reading that serves. The lock is held.
func (f *Feed) served(d demand) bool {
	for i := max(f.cursor[d.probe], f.first); i < f.first+uint64(len(f.ring)); i++ {
		if r := f.ring[i-f.first]; d.matches(r) && !r.Began().Before(d.settled) {
			return true
		}
	}
	return false
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
