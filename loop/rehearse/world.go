package rehearse

import (
	"fmt"
	"slices"
	"time"

	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// Wire takes the wishes of a run. It tells the world Arrived or Refused when it is there.
type Wire interface {
	Wish(head int, codes solve.Drive)
}

// World is a run in virtual time. Fields are set before Run.
type World struct {
	Core        *core.Core
	Wire        Wire
	Probes      map[string]*Probe // by name
	ReadTimeout time.Duration     // of one reading
	Heard       func(core.Entry)  // every entry of the journal, in order; may be nil

	Readings int // given so far

	before time.Duration // what the stage has stood before the run began
	now    time.Duration
	queue  queue
	events []core.Event // for the core, at now
	wake   uint64       // of the last Do; older wakes are void
	over   bool
	err    error
}

// Now is the time since the run began.
func (w *World) Now() time.Duration { return w.now }

// At does something at a moment; at once, but after what is being done, where that has passed.
func (w *World) At(t time.Duration, do func()) { w.queue.put(max(t, w.now), do) }

// Tell tells the run what has happened now.
func (w *World) Tell(e core.Event) { w.events = append(w.events, e) }

// Run plays until the run has ended, or for so long. The error is why it did not end in order.
func (w *World) Run(longest time.Duration) error {
	w.Tell(core.Event{Kind: core.Begin})
	for {
		for len(w.events) > 0 && !w.over {
			e := w.events[0]
			w.events = w.events[1:]
			e.At = w.now
			w.step(e)
		}
		it, ok := w.queue.next()
		switch {
		case w.over:
			return w.err
		case !ok:
			return fmt.Errorf("the run waits for nothing at %v", w.now)
		case it.at > longest:
			return fmt.Errorf("the run has not ended after %v", longest)
		}
		w.now = it.at
		it.do()
	}
}

func (w *World) step(e core.Event) {
	do := w.Core.Step(e)
	if w.Heard != nil {
		for _, entry := range do.Entries {
			w.Heard(entry)
		}
	}
	if do.Done {
		w.over, w.err = true, do.Err
		return
	}
	for _, p := range w.Probes {
		p.waiting = slices.DeleteFunc(p.waiting, func(a core.Ask) bool { return slices.Contains(do.Drop, a.ID) })
	}
	for _, wish := range do.Wishes {
		w.Wire.Wish(wish.Head, wish.Codes)
	}
	for _, a := range do.Asks {
		w.ask(a)
	}
	w.wake++
	if wake := w.wake; do.Wake > 0 {
		w.At(do.Wake, func() {
			if w.wake == wake {
				w.Tell(core.Event{Kind: core.Tick})
			}
		})
	}
}

// ask takes a wish for a reading.
func (w *World) ask(a core.Ask) {
	p := w.Probes[a.Probe]
	if p == nil {
		w.Tell(core.Event{Kind: core.NoReading, Ask: a.ID, Why: fmt.Sprintf("there is no probe %q", a.Probe)})
		return
	}
	w.At(max(w.now, a.After)+w.ReadTimeout, func() {
		if i := slices.IndexFunc(p.waiting, func(b core.Ask) bool { return a.ID == b.ID }); i >= 0 {
			p.waiting = slices.Delete(p.waiting, i, i+1)
			w.Tell(core.Event{Kind: core.NoReading, Ask: a.ID, Why: fmt.Sprintf("no usable reading of probe %q within %s", a.Probe, w.ReadTimeout)})
		}
	})
	p.ask(w, a)
}
