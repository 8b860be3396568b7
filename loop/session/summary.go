package session

import (
	"io"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/loop/session/core"
)

// Summary is a run as its journal tells it. Reports and sheets are made from
// it; nothing in it comes from anywhere else.
type Summary struct {
	Info      RunInfo
	Started   time.Time
	Ended     time.Time
	Reference *Reference
	Fixtures  []FixtureSummary // in the order of the rig file
	Stop      string           // why the run ended early; empty for a whole run
	Complete  bool             // the journal has its end entry
	Torn      bool             // the last line was cut short by a crash
	Unwatched string           // which lamps may have changed after they were read, in words; empty: none that is known of
	Notes     []string         // what the reader should know besides: conflicts, a drifting background
	Readings  int              // of every kind, over the whole run

	// Spending is what a wish by spectra costs in light, for each type of lamp, predicted.
	Spending []core.Spending
	// Light is the spectrum of the reference as it was read last, lux a nanometre at its probe; nil: no spectrometer read it.
	Light  *spectrum.Spectrum
	Waited Spent         // what the run waited for
	Floor  time.Duration // the least that its readings could have taken (session.Floor); 0 = not known

	// Points are the points of the lit surface that were read, in their order.
	Points []core.PointRead

	Backgrounds int // how often one was measured that is taken off

	// Common is the time spent on what all fixtures need (background, reference, level, hand-over),
	// counted as FixtureSummary.Spent is.
	Common time.Duration
}

// FixtureSummary is what became of one fixture.
type FixtureSummary struct {
	FixtureInfo
	Found   *Measured // the first reading, before any matching; nil: none
	Outcome *Outcome  // nil: not matched (fixed, by another's fault, or not reached)
	Verify  *Outcome  // nil: not read again
	Trace   []TracePoint
	// Readings are all of Trace, counted.
	Readings Readings
	// Light is its spectrum where it stood last, the background taken off; nil: no spectrometer read it there.
	Light *spectrum.Spectrum
	// Spent is the time that led to the entries about this fixture: from the entry before each.
	// With Summary.Common it adds up to the run.
	Spent time.Duration
}

// TracePoint is one reading of a fixture on its way.
type TracePoint struct {
	Time    time.Time
	UV      colorcalc.UV
	Delta   float64 // to the target
	Codes   []uint32
	Words   string
	Counted bool // the estimate took it
}

// Final is the last word on a fixture: the verification where there was one.
func (f FixtureSummary) Final() *Outcome {
	if f.Verify != nil {
		return f.Verify
	}
	return f.Outcome
}

// IsReference tells whether all others were matched to a fixture.
func (s *Summary) IsReference(f FixtureSummary) bool {
	return s.Reference != nil && f.Name == s.Reference.Name
}

// ReadSummary reads a journal and sums it up.
func ReadSummary(r io.Reader) (*Summary, error) {
	entries, torn, err := ReadJournal(r)
	if err != nil {
		return nil, err
	}
	s, err := Summarise(entries)
	if err != nil {
		return nil, err
	}
	s.Torn = torn
	return s, nil
}

// Summarise sums up the entries of one journal.
func Summarise(entries []Entry) (*Summary, error) {
	if len(entries) == 0 || entries[0].Kind != core.KindRun || entries[0].Run == nil {
		return nil, damaged(1, 1, "it does not begin as a run does: it is empty, or cut off")
	}
	s := &Summary{Info: *entries[0].Run, Started: entries[0].Time}
	index := map[string]int{}
	for i, f := range s.Info.Fixtures {
		s.Fixtures = append(s.Fixtures, FixtureSummary{FixtureInfo: f})
		index[f.Name] = i
	}
	var last Step
	var spending Spending
	var floor Floor
	before := s.Started
	seen := lights{dark: map[string][]*spectrum.Spectrum{}, own: map[string][]*spectrum.Spectrum{}}
	for _, e := range entries {
		s.take(&e)
		seen.take(s, &e)
		spending.Take(&e)
		floor.Take(&e)
		i, ok := index[e.Fixture]
		if spent := e.Time.Sub(before); ok && !s.IsReference(s.Fixtures[i]) {
			s.Fixtures[i].Spent += spent
		} else {
			s.Common += spent
		}
		before = e.Time
		if ok {
			s.Fixtures[i].take(&e, &last)
		}
	}
	seen.tell(s)
	s.Waited = spending.Spent()
	s.Floor, _ = floor.Of(s.Waited)
	return s, nil
}

// take takes in what an entry says of the whole run.
func (s *Summary) take(e *Entry) {
	s.Ended = e.Time
	mean := e.Kind == core.KindDrift || e.Kind == core.KindBackground && e.Note != "" // of readings that have entries of their own
	switch {
	case e.Reading == nil:
	case mean && s.Info.Version >= 2:
		s.Backgrounds++
	case mean: // version 1 has the mean alone
		s.Backgrounds++
		s.Readings++
	default:
		s.Readings++
	}
	switch e.Kind {
	case core.KindReference:
		s.Reference = e.Reference
	case core.KindPoint:
		if e.Point != nil {
			s.Points = append(s.Points, *e.Point)
		}
	case core.KindSpend:
		if e.Spending != nil {
			s.Spending = append(s.Spending, *e.Spending)
		}
	case core.KindSpill, core.KindConflict, core.KindDrift, core.KindLevel, core.KindHold, core.KindPause, core.KindResume:
		if e.Kind == core.KindResume {
			s.Stop = "" // it went on
		}
		if e.Note != "" {
			s.Notes = append(s.Notes, e.Note)
		}
	case core.KindStop:
		s.Stop = e.Note
	case core.KindEnd:
		s.Complete, s.Unwatched = true, e.Unwatched
	}
}

// take takes in what an entry says of the fixture; last is the latest setting.
func (f *FixtureSummary) take(e *Entry, last *Step) {
	f.Readings.Take(e)
	switch e.Kind {
	case core.KindStep, core.KindSent:
		if e.Step != nil {
			*last = *e.Step
		}
	case core.KindReading, core.KindFound, core.KindAside:
		if e.Reading == nil {
			return
		}
		if e.Kind == core.KindFound {
			f.Found = e.Reading
		}
		f.Trace = append(f.Trace, TracePoint{Time: e.Time, UV: e.Reading.UV, Delta: e.Reading.Delta, Codes: last.Codes,
			Words: e.Note, Counted: e.Kind != core.KindAside})
	case core.KindUndo:
		f.Found = nil
		for k := range f.Trace {
			f.Trace[k].Counted, f.Trace[k].Words = false, e.Note
		}
	case core.KindAccount:
		if e.Account != nil && len(f.Trace) > 0 {
			p := &f.Trace[len(f.Trace)-1]
			p.Words, p.Counted = e.Account.Words, e.Account.Verdict == VerdictAccepted
		}
	case core.KindOutcome:
		f.Outcome = e.Outcome
	case core.KindResume:
		f.Outcome = nil // it was given up for the stop alone
	case core.KindVerify:
		f.Verify = e.Outcome
	case core.KindClaim:
		if f.Verify != nil {
			f.Verify = e.Outcome
		} else {
			f.Outcome = e.Outcome
		}
	}
}

// VerdictAccepted marks a reading that the estimate took into account.
const VerdictAccepted = "accepted"
