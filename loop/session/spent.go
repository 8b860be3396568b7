package session

import (
	"time"

	"trueup/loop/session/core"
)

// Spent is where the time of a run went, as its journal tells it: what a run waits for, one after
// another.
type Spent struct {
	Fade        time.Duration // until the light that was wished for is on the wire
	Settle      time.Duration // until it stands still
	Window      time.Duration // until the meter's next window begins
	Integration time.Duration // while the meter gathers light
	Latency     time.Duration // until its reading is here
	Watch       time.Duration // between the readings of a fixture that stands, to see whether it keeps its colour
	Other       time.Duration // waiting for a person, a warm-up, a meter that was silent; and the program itself
	Readings    int
}

// Total is the sum of all parts.
func (s Spent) Total() time.Duration {
	return s.Fade + s.Settle + s.Window + s.Integration + s.Latency + s.Watch + s.Other
}

// since is what was spent after another moment.
func (s Spent) since(o Spent) Spent {
	return Spent{s.Fade - o.Fade, s.Settle - o.Settle, s.Window - o.Window, s.Integration - o.Integration, s.Latency - o.Latency, s.Watch - o.Watch, s.Other - o.Other, s.Readings - o.Readings}
}

// Light is what fades and steady light ask for; no meter makes it shorter.
func (s Spent) Light() time.Duration { return s.Fade + s.Settle }

// Meter is what the meter asks for.
func (s Spent) Meter() time.Duration { return s.Window + s.Integration + s.Latency }

// Spending adds a run's time up, entry by entry. The zero value begins.
type Spending struct {
	sum   Spent
	waits map[string]*settling // by what a unit has in common with others for its dead time
	kind  map[string]string    // of each fixture

	told    time.Duration // up to here the time is counted
	arrived time.Duration // the light that is waited for stood on the wire; 0: nothing was faded
	quiet   time.Duration // an arrival that nothing in the journal waited for
}

// settling is what the readings after a fade waited for. The shortest wait had the least luck needed with
// the meter's window, so that is the time that the light needs; what the others waited for longer
// was the window.
type settling struct {
	n     int
	least time.Duration
	all   time.Duration
}

// Take takes one entry in.
func (s *Spending) Take(e *Entry) {
	if e.Run != nil {
		s.kind, s.waits = map[string]string{}, map[string]*settling{}
		if c := e.Run.Core; c != nil {
			for i := range c.Units {
				s.kind[c.Units[i].Info.Name] = c.Units[i].SettleKey()
			}
		}
	}
	if e.Event == nil {
		return
	}
	ev := e.Event
	switch ev.Kind {
	case core.Arrived:
		if e.Kind == core.KindEvent {
			s.quiet = ev.When
		} else {
			s.arrived = ev.When
		}
	case core.Read:
		if ev.Reading != nil && !e.Glimpse() { // that is over before the reading that is waited for
			// Readings that measure a dead time begin at once, and do not tell how long the light needs.
			s.read(ev, s.kind[e.Fixture], e.Kind == core.KindSettle || e.Reading != nil && e.Reading.Early, e.Reading != nil && e.Reading.Awaited)
		}
	case core.Begin, core.Resumed:
		s.told = ev.At
	case core.NoReading, core.Hold, core.GoOn, core.Stop, core.Fault:
		s.sum.Other += max(0, ev.At-s.told)
		s.told, s.arrived, s.quiet = max(s.told, ev.At), 0, 0
	}
}

// read counts the time up to a reading. Of readings that were asked for at once the later ones add
// nothing. Early tells of one that began before all light stood, awaited of one that was to be as late as it was.
func (s *Spending) read(ev *core.Event, kind string, early, awaited bool) {
	s.sum.Readings++
	r := ev.Reading
	begin, end := max(s.told, r.At-r.Integration), max(s.told, r.At)
	stood := s.arrived
	if stood <= s.told {
		stood = s.quiet
	}
	switch {
	case early: // what it waited for after the fade was the window, for it need not wait for the lamp
		arrived := min(max(stood, s.told), begin)
		s.sum.Fade += arrived - s.told
		s.sum.Window += begin - arrived
	case stood > s.told && stood <= begin:
		s.sum.Fade += stood - s.told
		w := s.waits[kind]
		if w == nil {
			if w = (&settling{least: begin - stood}); s.waits != nil {
				s.waits[kind] = w
			}
		}
		w.n, w.all, w.least = w.n+1, w.all+begin-stood, min(w.least, begin-stood)
	case awaited:
		s.sum.Watch += begin - s.told
	default:
		s.sum.Window += begin - s.told
	}
	s.sum.Integration += end - begin
	s.sum.Latency += max(0, ev.At-end)
	s.told, s.arrived, s.quiet = max(s.told, ev.At), 0, 0
}

// Spent is what was counted so far.
func (s *Spending) Spent() Spent {
	sum := s.sum
	for _, w := range s.waits {
		sum.Settle += time.Duration(w.n) * w.least
		sum.Window += w.all - time.Duration(w.n)*w.least
	}
	return sum
}
