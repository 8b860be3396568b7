package core

import (
	"fmt"
	"time"

	"trueup/loop/solve"
)

// probing lights a fixture at the levels of the plan, one after another, and
// reads each. What they mean is for the reader of the journal.
type probing struct {
	u       *unit
	at      int // -1: the base before, then the levels, then the base again to end on
	got     int
	began   bool
	ended   bool
	settled time.Duration
}

func (p *probing) unit() *unit { return p.u }

func (p *probing) step(c *Core, in input) want {
	plan := c.cfg.Probe
	switch {
	case in.refused != "":
		return want{fail: fmt.Errorf("%s: %s", p.u.Info.Name, in.refused)}
	case in.arrived != nil:
		c.stood(p.u, Step{Action: "sent", Codes: in.arrived.Sent})
		if p.ended {
			return want{next: true}
		}
		p.settled = in.arrived.At + p.u.settle
	case in.reading != nil:
		m := c.measured(in.reading, solve.Reading{UV: in.reading.UV, Y: in.reading.Y})
		c.enter(Entry{Kind: KindReading, Fixture: p.u.Info.Name, Reading: &m})
		if !in.reading.HasY && !in.reading.TooDark {
			return want{fail: fmt.Errorf("the meter tells no level: emitters can not be told from the background with it")}
		}
		p.settled = in.reading.At
		if p.got++; p.got == plan.Readings {
			p.got = 0
			p.at++
			return p.set(c)
		}
	case !p.began:
		p.began, p.at = true, -1
		c.visit(p.u)
		return p.set(c)
	}
	return want{read: &Ask{Probe: p.u.Info.Probe, After: p.settled, Dark: p.at < 0}}
}

func (p *probing) set(c *Core) want {
	d := c.cfg.Probe.Base
	switch {
	case p.at >= len(c.cfg.Probe.Levels):
		p.ended = true
	case p.at >= 0:
		d = c.cfg.Probe.Levels[p.at]
	}
	c.decided(p.u, Step{Action: "probe", Codes: d})
	return want{set: &move{unit: p.u, drive: d, keepOthers: true}}
}

// rehearsal sets a unit once as the profile says, and lets it go dark with the next.
type rehearsal struct {
	u     *unit
	began bool
}

func (r *rehearsal) unit() *unit { return r.u }

func (r *rehearsal) step(c *Core, in input) want {
	switch {
	case in.refused != "":
		c.enter(Entry{Kind: KindOutcome, Fixture: r.u.Info.Name, Outcome: c.outcomeOf(r.u, solve.Decision{Outcome: solve.Held, Reason: in.refused})})
	case in.arrived != nil:
		c.stood(r.u, Step{Action: "sent", Codes: in.arrived.Sent})
	case !r.began:
		r.began = true
		c.visit(r.u)
		m, err := c.matchFrom(r.u, nil, 0)
		if err != nil {
			return want{fail: err}
		}
		d := m.Next(c.now)
		if d.Action == solve.Move {
			c.decided(r.u, Step{Action: "rehearse", Codes: d.Drive, Predicted: d.Predicted, PredictedSD: d.PredictedSD})
			return want{set: &move{unit: r.u, drive: d.Drive}}
		}
		c.enter(Entry{Kind: KindOutcome, Fixture: r.u.Info.Name, Outcome: c.outcomeOf(r.u, solve.Decision{Outcome: solve.Held, Reason: d.Reason})})
	}
	return want{next: true}
}
