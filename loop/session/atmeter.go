package session

import (
	"context"
	"strings"
	"sync"

	"trueup/loop/feed"
	"trueup/loop/session/core"
)

// atMeter knows from a run's entries of which fixture a person at the meter is to read, and tells them. Where a person reads, one fixture
// is worked at at a time, and background and reference are read between visits only (core.Plan.HandMeter): what is
// read while no fixture is worked at is the reference.
type atMeter struct {
	mu        sync.Mutex
	far       Progress
	reference string
	unsure    bool   // the run has broken off and goes on, and no entry has told yet with what
	dialled   string // the fixture that a person was told to set last
}

// take takes entries in.
func (m *atMeter) take(all ...Entry) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for i := range all {
		e := &all[i]
		if e.Kind == core.KindRun && e.Run != nil && e.Run.Core != nil && e.Run.Core.Work != core.Points {
			m.reference = e.Run.Core.Plan.Target.Reference
		}
		switch e.Kind {
		case core.KindResume:
			m.unsure, m.dialled = true, ""
		case core.KindStep, core.KindSent, core.KindReading, core.KindFound, core.KindOutcome, core.KindVerify:
			m.unsure = m.unsure && e.Fixture == m.reference
		}
		m.far.Take(e)
	}
}

// tells notes which fixture a person is told to set.
func (m *atMeter) tells(dial func(context.Context, HandStep) error) func(context.Context, HandStep) error {
	if dial == nil {
		return nil
	}
	return func(ctx context.Context, h HandStep) error {
		m.mu.Lock()
		m.dialled = h.Lamp
		m.mu.Unlock()
		return dial(ctx, h)
	}
}

// fixture is what a reading is of now, and whether it may be left.
func (m *atMeter) fixture() (name string, may bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.unsure {
		return m.dialled, true
	}
	if at := m.far.At; len(at) > 0 {
		return at[len(at)-1], m.far.MaySkip()
	}
	return m.reference, false
}

// names puts the questions of ask with the fixture that each is of. Where there is none to leave, skip is no answer.
func (m *atMeter) names(ask feed.Asker) feed.Asker {
	if ask == nil {
		return nil
	}
	return func(ctx context.Context, q feed.Question) (string, error) {
		may := true
		if !q.Dark {
			q.Fixture, may = m.fixture()
		}
		offered := q.Skip
		q.Skip = q.Skip && may
		for {
			text, err := ask(ctx, q)
			if err != nil || may || !offered || strings.TrimSpace(text) != "skip" {
				return text, err
			}
			q.Problem = "no fixture is worked at that could be left: type what the meter shows"
		}
	}
}
