package feed

import (
	"fmt"
	"math"
	"time"

	"trueup/loop/feed/instrument"
)

// acceptance decides which drafts become readings. It keeps one memory per probe,
// whose heads may have clocks of their own; time is an argument.
type acceptance struct {
	probes      map[string]string
	corrections map[string]Correction
	latency     time.Duration
	integration time.Duration
	memory      map[string]*probeMemory
}

type probeMemory struct {
	clock      clock
	seq        uint64
	hasSeq     bool
	stamp      time.Time
	hasStamp   bool
	backwards  int     // messages in a row with an old sequence number
	backwardAt float64 // the last of them: its sequence, or its stamp in microseconds
}

func newAcceptance(c Config) *acceptance {
	return &acceptance{probes: c.Probes, corrections: c.Corrections, latency: c.Latency, integration: c.Integration, memory: map[string]*probeMemory{}}
}

// linkUp forgets sequence numbers: an instrument that comes back may count anew.
func (a *acceptance) linkUp() {
	clear(a.memory)
}

// clock sums up the clocks of all probes: they agree when all do.
func (a *acceptance) clock() ClockStatus {
	var all ClockStatus
	for _, m := range a.memory {
		c := m.clock.status()
		if !c.Stamped {
			continue
		}
		if !all.Stamped {
			all = c
			continue
		}
		all.Agrees = all.Agrees && c.Agrees
		all.Delay = max(all.Delay, c.Delay)
	}
	return all
}

// take accepts or refuses one draft that arrived at now.
func (a *acceptance) take(d instrument.Draft, now time.Time) (Reading, *Aside) {
	no := func(why Reason, format string, args ...any) (Reading, *Aside) {
		return Reading{}, &Aside{Reason: why, Words: fmt.Sprintf(format, args...), Raw: d.Raw}
	}
	if d.Flags.Has(Saturated) {
		return no(Overdriven, "the instrument says so")
	}
	if !d.Finite() {
		return no(NotFinite, "u' %v v' %v level %v", d.UV.U, d.UV.V, d.Y)
	}
	if d.HasY && d.Y <= 0 && d.Y > -math.MaxFloat64 {
		d.Flags |= Underrange // kept for a background, never given out as a colour
	}
	if !bare(d.Flags) && !instrument.OnDiagram(d.UV) {
		return no(OffDiagram, "u' %.4f v' %.4f", d.UV.U, d.UV.V)
	}
	probe := a.probeOf(&d)
	m := a.memory[d.Probe]
	if m == nil {
		if len(a.memory) >= maxProbes {
			return no(UnknownProbe, "%q comes after %d other names", d.Probe, maxProbes)
		}
		m = &probeMemory{}
		a.memory[d.Probe] = m
	}
	// The clock first: a stamp from the far future must not become the measure
	// of what is late.
	end, stamped, ok := m.clock.end(d, now, a.latency)
	if !ok {
		return no(ClockSkewed, "stamp %s, arrived %s", d.Stamp.UTC().Format(time.RFC3339Nano), now.UTC().Format(time.RFC3339Nano))
	}
	if why, words := m.order(d); why != "" {
		return no(why, "%s", words)
	}
	r := Reading{Time: end, Received: now, Integration: d.Integration, Seq: d.Seq, HasSeq: d.HasSeq, Probe: probe, Serial: d.Serial,
		Quantity: d.Quantity, UV: d.UV, Y: d.Y, HasY: d.HasY, Spectrum: d.Spectrum, RoundXY: d.RoundXY, Flags: d.Flags, Raw: d.Raw}
	if r.Told = r.Integration > 0; !r.Told {
		r.Integration = a.integration
	}
	if stamped {
		r.Flags |= Timed
	} else if !d.Asked.IsZero() && !d.Asked.After(now) {
		// Measured on request: all of it lies between request and answer.
		r.Time, r.Integration, r.Told = now, now.Sub(d.Asked), false
	}
	if c, ok := a.corrections[probe]; ok && !bare(r.Flags) {
		r = c.Apply(r)
		if !instrument.OnDiagram(r.UV) {
			return no(OffDiagram, "after the correction of its probe")
		}
	}
	return r, nil
}

// probeOf is the probe that a draft is of. A text that says only that there is too little light names no head: it is of the one that the feed's
// probes name, if that is one alone.
func (a *acceptance) probeOf(d *instrument.Draft) string {
	if to, ok := a.probes[d.Probe]; ok {
		return to
	}
	if d.Probe == "" && d.Flags.Has(Underrange) && len(a.probes) == 1 {
		for _, to := range a.probes {
			return to
		}
	}
	return d.Probe
}

// bare tells of a reading that it has no colour.
func bare(f Flags) bool { return f&(Underrange|NotWhite) != 0 }

// order checks sequence number (or else the stamp) against the last accepted
// message of the same probe, and remembers them. A count that starts anew is
// believed when the stamps go on, or when three messages in a row climb from
// there.
func (m *probeMemory) order(d instrument.Draft) (Reason, string) {
	byStamp := d.HasStamp && m.hasStamp
	switch {
	case d.HasSeq && m.hasSeq && d.Seq == m.seq:
		return Repeated, fmt.Sprintf("sequence %d again", d.Seq)
	case d.HasSeq && m.hasSeq && d.Seq < m.seq:
		if !(byStamp && d.Stamp.After(m.stamp)) && !m.climbs(float64(d.Seq)) {
			return OutOfOrder, fmt.Sprintf("sequence %d after %d", d.Seq, m.seq)
		}
	case d.HasSeq && m.hasSeq:
	case byStamp && d.Stamp.Equal(m.stamp):
		return Repeated, "the same time stamp again"
	case byStamp && d.Stamp.Before(m.stamp):
		if !m.climbs(float64(d.Stamp.UnixMicro())) {
			return OutOfOrder, fmt.Sprintf("time stamp %v before the last one", m.stamp.Sub(d.Stamp))
		}
	}
	m.backwards = 0
	m.seq, m.hasSeq = d.Seq, d.HasSeq
	m.stamp, m.hasStamp = d.Stamp, d.HasStamp
	return "", ""
}

// climbs counts late messages that climb among themselves, and reports whether
// there were enough of them to believe in a new count.
func (m *probeMemory) climbs(at float64) bool {
	if m.backwards > 0 && at > m.backwardAt {
		m.backwards++
	} else {
		m.backwards = 1
	}
	m.backwardAt = at
	return m.backwards >= 3
}
