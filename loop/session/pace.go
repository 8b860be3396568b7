package session

import (
	"slices"
	"time"

	"trueup/loop/session/core"
)

// Pace is how a meter reads.
type Pace struct {
	Integration time.Duration `json:"integration_ns"`
	Period      time.Duration `json:"period_ns"`                 // from one reading to the next; 0: as long as it integrates
	Latency     time.Duration `json:"latency_ns"`                // from the end of the integration until the reading is here
	SigmaUV     float64       `json:"sigma_uv,omitempty"`        // scatter of one reading, per axis; 0: not known
	OnRequest   bool          `json:"only_when_asked,omitempty"` // it reads when it is asked
}

// AssumedPace is that of a meter of which nothing is known.
func AssumedPace() Pace {
	return Pace{Integration: 500 * time.Millisecond, Period: 500 * time.Millisecond, Latency: 50 * time.Millisecond}
}

// PaceByPerson is the pace of a person who reads a meter and types what it shows: holding it still,
// reading and typing take about so long.
func PaceByPerson() Pace {
	return Pace{Integration: time.Second, Latency: 20 * time.Second, OnRequest: true}
}

// Pacing learns the pace of meters from a journal, entry by entry. The zero value begins.
type Pacing struct {
	probes  map[string]*pacing
	sigmaUV float64
}

type pacing struct {
	pace Pace
	last core.Reading
	late []time.Duration
}

// enoughPaced readings tell how late they come.
const enoughPaced = 100

// Take takes one entry in.
func (p *Pacing) Take(e *Entry) {
	if e.Reference != nil && e.Reference.MeterSigmaUV > 0 {
		p.sigmaUV = e.Reference.MeterSigmaUV
	}
	if e.Event == nil || e.Event.Kind != core.Read || e.Event.Reading == nil {
		return
	}
	r := e.Event.Reading
	if p.probes == nil {
		p.probes = map[string]*pacing{}
	}
	m := p.probes[r.Probe]
	if m == nil {
		m = &pacing{}
		p.probes[r.Probe] = m
	}
	m.pace.Integration = max(m.pace.Integration, r.Integration)
	if apart := r.At - m.last.At; m.last.At > 0 && apart > 0 {
		if n := r.Seq - m.last.Seq; r.Seq > m.last.Seq && m.last.Seq > 0 {
			apart /= time.Duration(n)
		}
		if m.pace.Period == 0 || apart < m.pace.Period {
			m.pace.Period = apart
		}
	}
	m.last = *r
	if len(m.late) < enoughPaced {
		m.late = append(m.late, max(0, e.Event.At-r.At))
	}
}

// Of is the pace at a probe; false where too little was read there.
func (p *Pacing) Of(probe string) (Pace, bool) {
	m := p.probes[probe]
	if m == nil || len(m.late) < 3 {
		return Pace{}, false
	}
	pace := m.pace
	slices.Sort(m.late)
	pace.Latency, pace.SigmaUV = m.late[len(m.late)/2], p.sigmaUV
	pace.Period = max(pace.Period, pace.Integration)
	return pace, true
}
