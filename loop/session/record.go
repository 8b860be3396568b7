package session

import (
	"math"
	"time"

	"trueup/loop"
	"trueup/loop/feed"
	"trueup/loop/solve"
)

// recorder writes one unit's way into the journal, before the lamp moves.
type recorder struct {
	s       *Session
	u       *Unit
	pending Step
}

// Decided implements loop.Recorder.
func (r *recorder) Decided(d solve.Decision) error {
	if d.Action != solve.Move {
		return nil // a reading says so itself, an outcome has its own entry
	}
	step := r.u.step(d.Drive)
	step.Action = d.Action.String()
	step.Predicted, step.PredictedSD, step.Probability, step.Words = d.Predicted, d.PredictedSD, d.P, d.Reason
	r.pending = step
	return r.s.journal.Append(Entry{Kind: KindStep, Fixture: r.u.Info.Name, Step: &step})
}

// Arrived implements loop.Recorder.
func (r *recorder) Arrived(a loop.Arrival) error {
	step := r.u.step(a.Sent)
	step.Action, step.Predicted, step.PredictedSD = "sent", r.pending.Predicted, r.pending.PredictedSD
	if r.u.before == nil {
		r.u.before = &step
	}
	return r.s.journal.Append(Entry{Kind: KindSent, Fixture: r.u.Info.Name, Step: &step})
}

// Read implements loop.Recorder.
func (r *recorder) Read(raw feed.Reading, net solve.Reading) error {
	m := r.s.measured(raw, net)
	kind := KindReading
	if r.u.found == nil {
		r.u.found, kind = &m, KindFound
	}
	r.u.tally.readings++
	r.u.at.read = time.Now()
	r.u.tally.last, r.u.tally.lux = net.UV, net.Y
	return r.s.journal.Append(Entry{Kind: kind, Fixture: r.u.Info.Name, Reading: &m})
}

// Accounted implements loop.Recorder.
func (r *recorder) Accounted(a solve.Account) error {
	return r.s.journal.Append(Entry{Kind: KindAccount, Fixture: r.u.Info.Name, Account: &Account{
		Verdict: a.Verdict.String(), Innovation: math.Hypot(a.Innovation.U, a.Innovation.V), Words: a.Words}})
}

// measured is a reading as the journal keeps it.
func (s *Session) measured(raw feed.Reading, net solve.Reading) Measured {
	m := Measured{UV: net.UV, RawUV: raw.UV, Lux: net.Y, RawLux: raw.Y, Probe: raw.Probe, MeterSeq: raw.Seq,
		IntegrationS: raw.Integration.Seconds(), SigmaUV: net.SigmaUV}
	if s.ref != nil {
		m.Delta = net.UV.Dist(s.ref.UV)
	}
	return m
}

// step tells a drive in every way a person may want it.
func (u *Unit) step(d solve.Drive) Step {
	return Step{Codes: d, Settings: u.Settings(d), Slots: u.Slots(d)}
}

// clock is the time since the session began, the estimate's own clock.
func (s *Session) clock() time.Duration { return time.Since(s.start) }
