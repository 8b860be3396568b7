package session

import (
	"slices"
	"time"

	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// Progress is how far a run has come, as its journal tells it, entry by entry. The zero value begins.
type Progress struct {
	Of      int      // fixtures that are worked at
	Done    int      // of them: the first visit ended, or the only one
	Landed  int      // of them: landed, by the last word on each
	ToRead  int      // of them: predicted, to be read on the second visit
	Not     int      // of them: ended otherwise, by the last word on each
	Proven  int      // of them: read again on a second visit
	Twice   bool     // there is a second visit
	At      []string // fixtures that are worked at, the latest last: one for each lane
	Wants   string   // what waits for a person; "" for nothing
	Ended   bool
	Began   time.Time
	Now     time.Time // of the last entry
	Waiting Spending  // where the time went

	work   Work
	state  map[string]*stateOf
	rounds [2]round
	before Spent           // up to the beginning of the first visit
	first  Spent           // from then to the end of the latest first visit
	lanes  int             // that were at work at once, at the most
	again  []time.Duration // what each second visit took
	watch  time.Duration   // what watching is said to take
	// watches tells that the first of each type were asked to be watched.
	watches bool
}

// stateOf a fixture.
type stateOf struct {
	done, proven bool
	result       solve.Outcome // the last word; solve.None before
	again        time.Time     // when its second visit began; zero: it has not
}

// round of visits: when it began, when a visit ended last, and how many did.
type round struct {
	began, last time.Time
	n           int
}

// Take takes one entry in.
func (p *Progress) Take(e *Entry) {
	if e.Kind == core.KindResume {
		p.slept(e.Time.Sub(p.Now))
	}
	p.Waiting.Take(e)
	p.Now = e.Time
	p.watch += e.Watching
	switch e.Kind {
	case core.KindRun:
		p.begin(e)
	case core.KindStep, core.KindSent, core.KindReading, core.KindFound:
		p.visits(e)
	case core.KindOutcome, core.KindVerify:
		p.outcome(e)
	case core.KindPause, core.KindHold, core.KindConflict:
		if p.Wants = e.Note; e.Event != nil && e.Event.Kind == core.GoOn {
			p.Wants = ""
		}
	case core.KindResume:
		p.Wants = ""
	case core.KindEnd, core.KindStop:
		p.Ended, p.At, p.Wants = true, nil, ""
	}
}

// slept leaves out the time in which nobody worked at the run.
func (p *Progress) slept(d time.Duration) {
	p.Began = p.Began.Add(d)
	for i := range p.rounds {
		if r := &p.rounds[i]; !r.began.IsZero() {
			r.began, r.last = r.began.Add(d), r.last.Add(d)
		}
	}
	for _, s := range p.state {
		if !s.again.IsZero() {
			s.again = s.again.Add(d)
		}
	}
}

func (p *Progress) begin(e *Entry) {
	p.Began, p.state = e.Time, map[string]*stateOf{}
	if e.Run == nil {
		return
	}
	reference := ""
	if c := e.Run.Core; c != nil {
		reference, p.work = c.Plan.Target.Reference, c.Work
		p.watches = c.Plan.Watch > 0
		p.Twice = c.Plan.SecondVisit && (c.Work == core.Match || c.Work == core.ByHand)
	}
	if p.work == core.Points { // the surface is read, and no fixture by itself
		return
	}
	for _, f := range e.Run.Fixtures {
		if !f.Fixed && !f.LeftOut && f.Name != reference && (!f.ByHand || p.work == core.ByHand) {
			p.state[f.Name] = &stateOf{}
			p.Of++
		}
	}
}

// visits notes that a fixture is worked at.
func (p *Progress) visits(e *Entry) {
	s := p.state[e.Fixture]
	if s == nil {
		return
	}
	p.Wants = ""
	p.leave(e.Fixture)
	r := p.round(s.done && p.work != core.Verify)
	if r.began.IsZero() {
		r.began, r.last = e.Time, e.Time
		if r == &p.rounds[0] {
			p.before = p.Waiting.Spent()
		}
	}
	if s.again.IsZero() && r == &p.rounds[1] {
		s.again = e.Time
	}
	if e.Kind == core.KindFound && p.work == core.Survey {
		p.ended(s, r, e)
		return
	}
	p.At = append(p.At, e.Fixture)
	p.lanes = max(p.lanes, len(p.At))
}

func (p *Progress) round(second bool) *round {
	if second {
		return &p.rounds[1]
	}
	return &p.rounds[0]
}

// outcome is the last word on a fixture, until there is another.
func (p *Progress) outcome(e *Entry) {
	s := p.state[e.Fixture]
	if s == nil || e.Outcome == nil {
		return
	}
	p.leave(e.Fixture)
	if s.result != solve.None {
		*p.count(s.result)--
	}
	s.result = e.Outcome.Result
	*p.count(s.result)++
	switch {
	case !s.done:
		p.ended(s, p.round(false), e)
	case e.Kind == core.KindVerify && !s.proven:
		s.proven = true
		p.Proven++
		r := p.round(true)
		r.n, r.last = r.n+1, e.Time
		if !s.again.IsZero() {
			p.again = append(p.again, e.Time.Sub(s.again))
		}
	}
}

func (p *Progress) ended(s *stateOf, r *round, e *Entry) {
	s.done, p.first = true, p.Waiting.Spent().since(p.before)
	p.Done++
	r.n, r.last = r.n+1, e.Time
}

// MaySkip tells whether a fixture is worked at that a person may leave: not where all are lit together, or where one is lit to be
// described.
func (p *Progress) MaySkip() bool {
	return len(p.At) > 0 && !slices.Contains([]Work{core.Keep, core.Recall, core.Probe, core.Rehearse}, p.work)
}

func (p *Progress) leave(fixture string) {
	if i := slices.Index(p.At, fixture); i >= 0 { // it is there once at the most
		p.At = slices.Delete(p.At, i, i+1)
	}
}

// count is that of the fixtures with a result.
func (p *Progress) count(o solve.Outcome) *int {
	switch o {
	case solve.Landed:
		return &p.Landed
	case solve.Predicted:
		return &p.ToRead
	}
	return &p.Not
}
