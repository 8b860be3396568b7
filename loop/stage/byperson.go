package stage

import (
	"context"
	"fmt"
	"time"
)

// What a person does on the stage: knobs of lamps that no wire reaches, and a
// look at the meter.

// Dial sets a lamp that no wire reaches, as Hall.Dial does.
func (s *Server) Dial(name string, codes []uint32) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.hall.Dial(name, codes)
}

// Off puts a lamp that no wire reaches out, until it is dialled again.
func (s *Server) Off(name string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, l := range s.hall.lamps {
		if l.Name == name && len(l.Channels) > 0 {
			return s.hall.Dial(name, l.black())
		}
	}
	return fmt.Errorf("there is no fixture with knobs called %q", name)
}

// waiter wants the first reading of a probe whose integration began at or after
// a moment of the hall.
type waiter struct {
	probe string
	from  time.Duration
	to    chan Spoken // of one place
}

// Look waits for a reading of a probe that was begun after the call; the first
// probe for an empty name. It ends with ctx, or with an error where there is no
// such probe.
func (s *Server) Look(ctx context.Context, probe string) (Spoken, error) {
	s.mu.Lock()
	w := waiter{probe: probe, from: s.hall.Now(), to: make(chan Spoken, 1)}
	found := false
	for _, p := range s.hall.probes {
		if found = probe == "" || p.Name == probe; found {
			w.probe = p.Name
			break
		}
	}
	if found {
		s.waiting = append(s.waiting, w)
	}
	s.mu.Unlock()
	if !found {
		return Spoken{}, fmt.Errorf("there is no probe called %q", probe)
	}
	select {
	case r := <-w.to:
		return r, nil
	case <-ctx.Done():
		return Spoken{}, ctx.Err()
	}
}

// show gives a reading to whoever waits for it. The lock is held.
func (s *Server) show(r Spoken) {
	kept := s.waiting[:0]
	for _, w := range s.waiting {
		if w.probe == r.Probe && r.End-r.Window >= w.from {
			w.to <- r
		} else {
			kept = append(kept, w)
		}
	}
	s.waiting = kept
}
