package feed

import (
	"fmt"
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// draft is what a decoder made of a message, before it is judged.
type draft struct {
	quantity    Quantity
	uv          colorcalc.UV
	y           float64
	hasY        bool
	spectrum    *spectrum.Spectrum
	stamp       time.Time // end of integration by the instrument's clock
	hasStamp    bool
	integration time.Duration // 0: not told
	seq         uint64
	hasSeq      bool
	probe       string
	serial      string
	roundXY     float64
	flags       Flags
	raw         string
	asked       time.Time // when the measurement was triggered; zero: not by us
}

// judge decides which drafts become readings. It keeps one memory per probe,
// whose heads may have clocks of their own; time is an argument.
type judge struct {
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

func newJudge(c Config) *judge {
	return &judge{probes: c.Probes, corrections: c.Corrections, latency: c.Latency, integration: c.Integration, memory: map[string]*probeMemory{}}
}

// linkUp forgets sequence numbers: an instrument that comes back may count anew.
func (j *judge) linkUp() {
	clear(j.memory)
}

// clock sums up the clocks of all probes: they agree when all do.
func (j *judge) clock() ClockStatus {
	var all ClockStatus
	for _, m := range j.memory {
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

// take judges one draft that arrived at now.
func (j *judge) take(d draft, now time.Time) (Reading, *Aside) {
	no := func(why Reason, format string, args ...any) (Reading, *Aside) {
		return Reading{}, &Aside{Reason: why, Words: fmt.Sprintf(format, args...), Raw: d.raw}
	}
	if d.flags.Has(Saturated) {
		return no(Overdriven, "the instrument says so")
	}
	if !finite(d.uv.U) || !finite(d.uv.V) || !finite(d.y) {
		return no(NotFinite, "u' %v v' %v level %v", d.uv.U, d.uv.V, d.y)
	}
	if d.hasY && d.y <= 0 && d.y > -math.MaxFloat64 {
		d.flags |= Underrange // kept for a background, never given out as a colour
	}
	if !d.flags.Has(Underrange) {
		if !onDiagram(d.uv) {
			return no(OffDiagram, "u' %.4f v' %.4f", d.uv.U, d.uv.V)
		}
	}
	probe := d.probe
	if to, ok := j.probes[probe]; ok {
		probe = to
	}
	m := j.memory[d.probe]
	if m == nil {
		if len(j.memory) >= maxProbes {
			return no(UnknownProbe, "%q comes after %d other names", d.probe, maxProbes)
		}
		m = &probeMemory{}
		j.memory[d.probe] = m
	}
	// The clock first: a stamp from the far future must not become the measure
	// of what is late.
	end, stamped, ok := m.clock.end(d, now, j.latency)
	if !ok {
		return no(ClockSkewed, "stamp %s, arrived %s", d.stamp.UTC().Format(time.RFC3339Nano), now.UTC().Format(time.RFC3339Nano))
	}
	if why, words := m.order(d); why != "" {
		return no(why, "%s", words)
	}
	r := Reading{Time: end, Received: now, Integration: d.integration, Seq: d.seq, HasSeq: d.hasSeq, Probe: probe, Serial: d.serial,
		Quantity: d.quantity, UV: d.uv, Y: d.y, HasY: d.hasY, Spectrum: d.spectrum, RoundXY: d.roundXY, Flags: d.flags, Raw: d.raw}
	if r.Integration <= 0 {
		r.Integration = j.integration
	}
	if stamped {
		r.Flags |= Timed
	} else if !d.asked.IsZero() && !d.asked.After(now) {
		// Measured on request: all of it lies between request and answer.
		r.Time, r.Integration = now, now.Sub(d.asked)
	}
	if c, ok := j.corrections[probe]; ok && !r.Flags.Has(Underrange) {
		r = c.Apply(r)
		if !onDiagram(r.UV) {
			return no(OffDiagram, "after the correction of its probe")
		}
	}
	return r, nil
}

// order checks sequence number (or else the stamp) against the last accepted
// message of the same probe, and remembers them. A count that starts anew is
// believed when the stamps go on, or when three messages in a row climb from
// there.
func (m *probeMemory) order(d draft) (Reason, string) {
	byStamp := d.hasStamp && m.hasStamp
	switch {
	case d.hasSeq && m.hasSeq && d.seq == m.seq:
		return Repeated, fmt.Sprintf("sequence %d again", d.seq)
	case d.hasSeq && m.hasSeq && d.seq < m.seq:
		if !(byStamp && d.stamp.After(m.stamp)) && !m.climbs(float64(d.seq)) {
			return OutOfOrder, fmt.Sprintf("sequence %d after %d", d.seq, m.seq)
		}
	case d.hasSeq && m.hasSeq:
	case byStamp && d.stamp.Equal(m.stamp):
		return Repeated, "the same time stamp again"
	case byStamp && d.stamp.Before(m.stamp):
		if !m.climbs(float64(d.stamp.UnixMicro())) {
			return OutOfOrder, fmt.Sprintf("time stamp %v before the last one", m.stamp.Sub(d.stamp))
		}
	}
	m.backwards = 0
	m.seq, m.hasSeq = d.seq, d.hasSeq
	m.stamp, m.hasStamp = d.stamp, d.hasStamp
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

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// onDiagram is a wide box round the spectral locus in CIE 1976 u', v': the
// locus reaches from u' = 0.001 (about 505 nm) to 0.623 (700 nm) and from v' =
// 0.016 (380 nm) to 0.587 (520 nm); 0.01 is left for the noise of saturated
// lights (CIE 15:2018, table of the 2 degree observer).
func onDiagram(c colorcalc.UV) bool {
	return c.U >= -0.01 && c.U <= 0.633 && c.V >= 0.006 && c.V <= 0.597 && c.XY().Valid()
}
