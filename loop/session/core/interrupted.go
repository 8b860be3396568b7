package core

import (
	"time"

	"trueup/loop/solve"
)

// How often a visit is interrupted for a look at background and reference because they are not known well enough. Where they wander
// faster than they can be read, a look is out of date after a few readings of the fixture: a visit of eighty readings was interrupted as
// often, took twenty minutes, and its fixture did not land. Of some 800 drawn rigs two fixtures landed after more than twelve looks.
const (
	mostLooks = 12
	vainLooks = 4 // once a visit took so many and its fixture did not land, until one lands; or where it has gone on for longVisit by then
	longVisit = 4 * time.Minute
)

// looks counts the looks for which a visit was interrupted.
type looks struct {
	visit task
	n     int
}

// interrupted counts a look for which the lane's visit waits, because background or reference are not known well enough.
func (c *Core) interrupted(l *lane) {
	if c.suspected(l.task) != nil {
		return
	}
	v := atFixture(l.task)
	if l.looks.visit != v {
		l.looks = looks{visit: v}
	}
	l.looks.n++
}

// lookedEnough tells whether a visit to a unit goes on with what is known of background and reference: its readings then end it.
// One beside light that goes too fast for it is not interrupted at all.
func (c *Core) lookedEnough(t task) bool {
	most := mostLooks
	switch d, restless := c.background[t.unit().Info.Probe], c.tooRestless(t.unit()); {
	case restless && d.Sweeps():
		most = 1 // how far it goes the looks tell: with none it is forgotten
	case restless:
		most = 0
	case d != nil && d.vain, c.now-t.unit().begun > longVisit:
		most = vainLooks
	}
	return c.lane.looks.n >= most && (most == 0 && c.lane.task == t || c.lane.looks.visit == atFixture(t))
}

// wereInVain keeps whether the looks of a visit that ends so were of use.
func (c *Core) wereInVain(u *unit, o solve.Outcome) {
	if d := c.background[u.Info.Probe]; d != nil {
		switch {
		case o == solve.Landed:
			d.vain = false
		case c.tooRestless(u): // it had no look
		case o == solve.Unsettled && c.lane.task != nil && c.lane.task.unit() == u && c.lookedEnough(c.lane.task):
			d.vain = true
		}
	}
	c.restless(u, o)
	c.lane.looks = looks{}
}
