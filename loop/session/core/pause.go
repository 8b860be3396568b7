package core

import (
	"errors"
	"fmt"

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
	c.perform(l, w)
}

// heard ends a pause.
func (c *Core) heard(l *lane) {
	if l.mute == 0 {
		return
	}
	silent := c.now - l.mute
	l.mute = 0
	c.enter(Entry{Kind: KindPause, Fixture: fixtureOf(l.task), Note: fmt.Sprintf("the meter reads again after %s: the run goes on", printable.Span(silent))})
}

func fixtureOf(t task) string {
	if t == nil || t.unit() == nil {
		return ""
	}
	return t.unit().Info.Name
}
