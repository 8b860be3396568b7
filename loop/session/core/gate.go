package core

import (
	"math"
	"slices"

	"trueup/colorcalc"
)

// tendGate lets lanes exchange their lamps: all together, at moments that lie apart, and
// beside each other only where none spoils another's reading. Who waits longest is asked first;
// who fits in goes before it, for the round is over only when all are done.
func (c *Core) tendGate() {
	if c.halting {
		for _, l := range c.gate {
			l.puts(*l.gated)
			l.gated = nil
			c.park(l)
		}
		c.gate = nil
		return
	}
	if len(c.gate) == 0 || c.now < c.opened+exchange {
		return
	}
	var open, waits []*lane
	for _, l := range c.gate {
		if c.mayLight(l, l.gated.set.unit, open) {
			open = append(open, l)
		} else {
			waits = append(waits, l)
		}
	}
	if len(open) == 0 {
		return
	}
	c.gate, c.opened = waits, c.now
	var wanted []want
	for _, l := range open { // first all are known to be lit, so that none puts another out
		wanted = append(wanted, *l.gated)
		l.lit, l.gated = nil, nil
		l.next = wanted[len(wanted)-1].set.unit
	}
	for i, l := range open {
		if c.do.Done {
			return
		}
		a := c.perform(l, wanted[i])
		l.next = nil
		if a != nil {
			c.tell(l, input{arrived: a})
		}
	}
}

// ungate takes a lane out of those that wait to exchange their lamp.
func (c *Core) ungate(l *lane) {
	l.gated = nil
	c.gate = slices.DeleteFunc(c.gate, func(o *lane) bool { return o == l })
}

// shows is the lamp that a lane reads or is about to light; nil for none. What it waits for at the gate it lights only if it is one of those that open now.
func (l *lane) shows(open []*lane) *unit {
	switch {
	case l.next != nil:
		return l.next
	case l.gated != nil && slices.Contains(open, l):
		return l.gated.set.unit
	case l.gated != nil || l.task == nil || l.parked:
		return nil
	}
	return l.lit
}

// mayLight tells whether a lane may light a unit beside the lamps that other lanes read, and those
// that lanes of the gate are to light now. Lamps that were left lit (see litBeside) are no part of that: those that do harm go out as it is lit.
func (c *Core) mayLight(l *lane, u *unit, now []*lane) bool {
	var others []*unit
	for _, o := range c.lanes {
		if s := o.shows(now); o != l && s != nil {
			others = append(others, s)
		}
	}
	if len(others) == 0 {
		return true
	}
	tol := c.cfg.Plan.Tolerance
	if _, ok := c.spill.beside(u.own, u.Info.Probe, others, tol); !ok {
		return false
	}
	for _, o := range others {
		beside := append(slices.DeleteFunc(slices.Clone(others), func(x *unit) bool { return x == o }), u)
		if _, ok := c.spill.beside(o.own, o.Info.Probe, beside, tol); !ok {
			return false
		}
	}
	return true
}

// elsewhere is the lane that a unit is read in, if that is another than one; nil for none.
func (c *Core) elsewhere(l *lane, o *unit) *lane {
	if m := c.byProbe[o.Info.Probe]; m != l {
		return m
	}
	return nil
}

// staysLit tells whether a unit need not go out when a lane lights another: it is read in its own
// lane, or does no harm until that puts it out.
func (c *Core) staysLit(l *lane, o *unit) bool {
	m := c.elsewhere(l, o)
	if l == &c.main || m == nil {
		return false
	}
	if o == m.shows(nil) {
		return true
	}
	if u := l.next; u != nil {
		_, ok := c.spill.beside(u.own, u.Info.Probe, []*unit{o}, c.cfg.Plan.Tolerance)
		return ok && !(o.bright && c.crowds(l, u)) // of a dark one that is not asked: it is no part of what crowds
	}
	return false
}

// litBeside are the lamps of other lanes than one that are lit, or about to be: those that are read there, and those that were left lit as nobody has put them
// out since.
func (c *Core) litBeside(l *lane) (all []*unit) {
	c.each(func(o *unit) {
		if m := c.elsewhere(l, o); m != nil && (o.bright || o == m.shows(nil)) {
			all = append(all, o)
		}
	})
	return all
}

// besideHarm is how far, u'v', the lamps of other lanes may move what is read of a light at a
// probe.
func (c *Core) besideHarm(probe string, own colorcalc.XYZ) float64 {
	others := c.litBeside(c.byProbe[probe])
	if len(others) == 0 {
		return 0
	}
	tau, _ := c.spill.beside(own, probe, others, c.cfg.Plan.Tolerance)
	if own.Y > 0 && math.IsInf(tau, 1) {
		return c.cfg.Plan.Tolerance // nobody has read what one of them throws there: it should be dark, and is not relied on
	}
	return tau
}

// crowdedAt times what lamps may do to each other a lamp leaves the company of others: it gives
// less light than the survey promised. At 1.6 times their harm alone is as much as any number of readings may leave open (see pointBeside).
const crowdedAt = 1.5

// crowded tells whether the lamp that a lane reads is too weak for what others throw on its
// probe, by its own reading.
func (c *Core) crowded(l *lane) bool {
	u := l.task.unit()
	if u == nil || u != l.lit || u.tally.last == nil || !(u.own.Y > 0) {
		return false
	}
	return c.crowds(l, u)
}

// crowds tells whether all lamps that are lit in other lanes do too much harm to one that a lane reads.
func (c *Core) crowds(l *lane, u *unit) bool {
	others := c.litBeside(l)
	if len(others) == 0 {
		return false
	}
	tau, _ := c.spill.beside(u.own, u.Info.Probe, others, c.cfg.Plan.Tolerance)
	return math.IsInf(tau, 1) || tau > crowdedAt*togetherAt*c.cfg.Plan.Tolerance
}

// nothingLit notes that no lamp is lit alone at its probe any more.
func (c *Core) nothingLit() {
	for _, l := range c.all() {
		l.lit = nil
	}
}
