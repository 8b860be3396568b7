package core

import (
	"errors"
	"fmt"
	"slices"

	"trueup/profiles/printable"
)

// silent takes in that a reading did not come within its time-out. The lamps stay as they
// are and the reading is asked for again, until the meter has been silent for longer than
// Plan.SilenceLimit.
func (c *Core) silent(l *lane, e *Event) {
	if _, ok := l.task.(*keeping); ok && !c.holding {
		c.tell(l, input{silent: e.Why})
		return
	}
	limit := c.cfg.Plan.SilenceLimit
	if r := l.wanted.read; r != nil && l.silent != r.Probe {
		l.mute, l.silent = 0, r.Probe
	}
	if limit <= 0 || l.wanted.read == nil || l.mute > 0 && c.now-l.mute >= limit {
		c.stop(e.Why, errors.New(e.Why))
		return
	}
	if l.mute == 0 {
		l.mute = max(c.now, 1)
		c.enter(Entry{Kind: KindPause, Fixture: fixtureOf(l.task), Note: fmt.Sprintf("PAUSED: %s. The fixtures stay as they are. The run goes on by itself when the meter reads again; "+
			"it ends after %s of silence, or when you stop it", e.Why, printable.Span(limit))})
	}
	again := *l.wanted.read
	w := want{read: &again}
	l.wanted = w
	if c.holding {
		l.held = &w
		return
	}
	if l != &c.main && c.halting { // the others need dark or reference: they do not wait for this meter
		l.tasks = append([]task{c.asideOf(l, &again)}, l.tasks...)
		c.park(l)
		return
	}
	if b, ok := l.task.(*backgrounds); ok && l != &c.main && c.goesWithout(b) {
		c.background[b.only].wanted = true
		l.task = idle{}
		c.tell(l, input{})
		return
	}
	c.perform(l, w)
}

// goesWithout tells whether the others go on without a look at the dark of one probe whose meter is silent: it is read before more is read of
// lamps there. The first look says what is taken off, and the last one is proof of what was read before: these are waited for.
func (c *Core) goesWithout(b *backgrounds) bool {
	others := func(t task) bool {
		u := t.unit()
		return u != nil && c.ours(u) && u.Info.Probe != b.only
	}
	return c.background[b.only] != nil && (slices.ContainsFunc(c.main.tasks, others) ||
		slices.ContainsFunc(c.lanes, func(l *lane) bool { return slices.ContainsFunc(l.kept, others) || slices.ContainsFunc(l.tasks, others) }))
}

// heard ends a pause, of the meter at the probe that was read: a lane may read at others meanwhile.
func (c *Core) heard(l *lane, probe string) {
	if l.mute == 0 || l.silent != probe {
		return
	}
	silent := c.now - l.mute + c.cfg.Plan.ReadTimeout // the pause begins when a reading has been waited for so long
	l.mute = 0
	c.enter(Entry{Kind: KindPause, Fixture: fixtureOf(l.task), Note: fmt.Sprintf("the meter reads again after %s: the run goes on", printable.Span(silent))})
}

func fixtureOf(t task) string {
	if t == nil || t.unit() == nil {
		return ""
	}
	return t.unit().Info.Name
}
