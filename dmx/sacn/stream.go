package sacn

import (
	"sync/atomic"
	"time"

	"trueup/dmx"
)

// lateTolerance is how much of a late tick the next interval may make up for.
// Without any, a timer that is 0.1 ms late at each tick would cost frames; the
// mean never exceeds 44 a second with it either.
const lateTolerance = time.Millisecond

// lateWrite is how long after its tick a packet may leave and still count as on
// time: writing many universes takes a millisecond or two.
const lateWrite = 5 * time.Millisecond

// deskSlack is how much longer than a frame a stream waits for the base it
// follows. While a desk fades, its packets then set the beat: each goes on as it
// comes, and none falls between two ticks of our own.
const deskSlack = 5 * time.Millisecond

// deskFades is how long after its last change a desk is taken to be fading.
const deskFades = 4 * framePeriod

// stream is one universe on its way out: suppression, keep-alive, sequence and
// rate (6.6, 6.2.5). It reads no clock.
type stream struct {
	universe dmx.Universe
	pkt      dataPacket
	started  bool
	repeats  int       // equal packets still to follow the last change
	last     time.Time // when the last packet went
	earliest time.Time // the rate limit lets no packet go before
	due      time.Time // next pull
	woken    atomic.Bool
	wokenAt  time.Time
}

// wake brings the next pull forward as far as the rate allows.
func (s *stream) wake(now time.Time) {
	s.wokenAt = now
	if at := later(now, s.earliest); at.Before(s.due) {
		s.due = at
	}
}

// pull asks frames for the levels at now and tells whether a packet has to go.
// The packet then stands in s.pkt with its sequence number.
func (s *stream) pull(now time.Time, frames Frames, scratch *[dmx.SlotsPerUniverse]byte) bool {
	s.due = follow(s.due, now)
	*scratch = *s.pkt.levels()
	n := min(frames.Levels(now, s.universe, scratch), dmx.SlotsPerUniverse)
	if n <= 0 {
		if !s.started {
			return false
		}
		n = s.pkt.n
		*scratch = *s.pkt.levels()
	}
	if !s.started || n != s.pkt.n || *scratch != *s.pkt.levels() {
		s.started = true
		s.pkt.setSlots(n)
		*s.pkt.levels() = *scratch
		s.repeats = settleRepeats + 1
	}
	return s.step(now)
}

// step decides about one packet with the levels as they are.
func (s *stream) step(now time.Time) bool {
	if s.repeats == 0 && now.Sub(s.last) < keepAlive {
		return false
	}
	s.repeats = max(0, s.repeats-1)
	s.pkt.buf[offSequence]++
	s.last = now
	s.earliest = follow(s.earliest, now)
	s.due = later(s.due, s.earliest)
	if !s.wokenAt.IsZero() && now.Sub(s.wokenAt) < deskFades {
		s.due = s.earliest.Add(deskSlack)
	}
	return true
}

// wentLate says that the packet of a tick left only at t, because the machine let
// us wait between making and writing it. The next one keeps its distance from
// it: two frames' worth of a ramp within a moment would be a step.
func (s *stream) wentLate(t time.Time) {
	s.earliest = t.Add(framePeriod)
	s.due = later(s.due, s.earliest)
}

// terminate turns the stream's packet into its goodbye.
func (s *stream) terminate(now time.Time) {
	s.pkt.buf[offOptions] |= optTerminated
	s.pkt.buf[offSequence]++
	s.last = now
}

// follow is the tick after the one that was due at t and came at now: on the
// grid if it was hardly late, else a whole period from now. Nothing is caught up.
func follow(t, now time.Time) time.Time {
	if now.Sub(t) > lateTolerance {
		t = now
	}
	return t.Add(framePeriod)
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
