package core

import (
	"fmt"
	"slices"
	"time"

	"trueup/loop"
	"trueup/loop/solve"

	"trueup/profiles/printable"
)

// longPause is a pause after which lamps that were proven before it are read again: they
// have cooled, and somebody may have been at them.
const longPause = 5 * time.Minute

// Now is the run's clock at the last event.
func (c *Core) Now() time.Duration { return c.now }

// Begun tells whether the run has had its Begin.
func (c *Core) Begun() bool { return c.begun }

// Brief is what the run began from, and what is known now of the types of its units. The
// caller must not change it.
func (c *Core) Brief() *Config { return &c.cfg }

// broken tells whether the run has ended other than in order: it can be resumed.
func (c *Core) broken() bool { return c.do.Done && c.do.Err != nil }

// resumed goes on in another process, or after a person had stopped the run. All that was
// learnt stands. What was on its way is not waited for any more, where the lamps stand is
// not known, and background and reference are read again before anything else.
func (c *Core) resumed(e *Event) {
	l := &c.main
	pause := c.now - e.When
	c.holding = false
	for _, o := range c.all() {
		c.leave(o)
	}
	c.do.Drop, c.do.Forget, c.colouring = nil, nil, nil // another process has nothing on its way
	c.nothingLit()
	if !slices.ContainsFunc(c.units, func(u *unit) bool { return u.tally.visited }) {
		c.presetDone = false
	}
	for _, u := range c.units {
		u.at, u.adrift = loop.Arrival{At: u.at.At}, true
		if u.tally.visited {
			u.tally.began += pause
		}
	}
	note := fmt.Sprintf("resumed after %s: all that was measured stands", printable.Span(pause))
	if l.task == nil {
		c.enter(Entry{Kind: KindResume, Note: note})
		c.stop("the run had no work to go on with", nil)
		return
	}
	c.reopen(note)
	round := append(c.passages(), c.pickedUp(l)...)
	if c.several() {
		for passage(l.task) && len(l.tasks) > 0 && passage(l.tasks[0]) {
			l.pop()
		}
		l.task = idle{}
	}
	var proven []task
	if pause >= longPause {
		proven = c.provenBefore(l)
	}
	for passage(l.task) && len(proven) == 0 && len(l.tasks) > 0 && passage(l.tasks[0]) {
		l.pop() // the round begins with the same
	}
	l.tasks = c.surveyedAgain(append(append(round, proven...), l.tasks...))
	if len(l.tasks) == 0 {
		c.finish()
		return
	}
	l.task = l.pop()
	c.tell(l, input{})
}

// passage tells whether a task reads background or reference anew, and so need not be
// done twice in a row.
func passage(t task) bool {
	switch t := t.(type) {
	case *darkness:
		return true
	case *darkRound:
		return passage(t.back)
	case *backgrounds:
		return t.round || t.only != ""
	case *reference:
		return t.again
	}
	return false
}

// pickedUp are the tasks that take up what a lane was at: readings of one state of things
// are begun anew, a visit goes on where it stood.
func (c *Core) pickedUp(l *lane) []task {
	switch t := l.task.(type) {
	case *backgrounds:
		if c.several() && !t.round {
			return []task{&backgrounds{only: t.only}}
		}
		if passage(t) {
			return nil
		}
		return []task{&backgrounds{}}
	case *reference:
		if passage(t) {
			return nil
		}
		return []task{&reference{}}
	case *darkRound:
		if passage(t) {
			return nil
		}
		return c.inDarkness(&reference{}, false)
	case *warmUp:
		return []task{&warmUp{}}
	case idle, *darkness, *colours, *lighting, *spillReading:
		return nil
	case *together:
		return c.gather()
	case *back:
		t.began = false
		return []task{t}
	case *firstVisit:
		if t.phase == learningDeadTime {
			t.dead.anew()
			return []task{t}
		}
	}
	return []task{&back{task: l.task, want: l.wanted}}
}

// reopen takes back the outcomes that the end of the run gave to fixtures that were worked at.
func (c *Core) reopen(note string) {
	e := Entry{Kind: KindResume, Note: note}
	entered := false
	for _, l := range c.all() {
		t := atFixture(l.task)
		if b := l.waiting(); b != nil {
			t = b.task
		}
		switch t.(type) {
		case *firstVisit, *asFound, *recheck:
			if u := t.unit(); u.outcome != nil && u.outcome.Result == solve.Held {
				u.outcome = nil
				e.Fixture = u.Info.Name
				c.enter(e)
				e, entered = Entry{Kind: KindResume}, true
			}
		}
	}
	if !entered {
		c.enter(e)
	}
}

// provenBefore are visits to the units that were read again before the run broke off, and
// are not to be visited anyway.
func (c *Core) provenBefore(l *lane) (again []task) {
	if slices.ContainsFunc(l.tasks, func(t task) bool { _, ahead := t.(secondRound); return ahead }) || !c.cfg.Plan.SecondVisit {
		return nil
	}
	pending := map[*unit]bool{}
	for _, t := range append([]task{l.task}, l.tasks...) {
		if u := t.unit(); u != nil {
			pending[u] = true
		}
	}
	c.each(func(u *unit) {
		if u.claim != nil && !pending[u] {
			again = append(again, &secondVisit{u: u})
		}
	})
	return again
}
