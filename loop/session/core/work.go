package core

import "trueup/loop/solve"

// begin lays out the work of the run and starts it. What every fixture is judged
// by comes first: background and reference.
func (c *Core) begin() {
	l := &c.main
	switch c.cfg.Work {
	case Probe:
		l.task = &probing{u: c.find(c.cfg.Probe.Fixture)}
		c.tell(l, input{})
		return
	case Recall:
		l.task = &putBack{}
		c.tell(l, input{})
		return
	case Points:
		l.tasks = append(l.tasks, &reference{}, &surface{})
		l.task = l.pop()
		c.tell(l, input{})
		return
	case Keep:
		if c.cfg.Plan.KeepLit {
			c.backgroundAsMatched()
		} else {
			l.tasks = append(l.tasks, c.darkReadings(false)...)
		}
		l.tasks = append(l.tasks, &reference{}, &keeping{})
		l.task = l.pop()
		c.tell(l, input{})
		return
	case Rehearse:
		c.ref = &Reference{Name: c.cfg.Plan.Target.Text, UV: c.cfg.Plan.Target.UV}
		c.each(func(u *unit) { l.tasks = append(l.tasks, &rehearsal{u: u}) })
		if len(l.tasks) == 0 {
			c.finish()
			return
		}
		l.task = l.pop()
		c.tell(l, input{})
		return
	}
	if c.cfg.Plan.WarmUp > 0 { // first: what is read before it would be old after it
		l.tasks = append(l.tasks, &warmUp{})
	}
	switch {
	case c.cfg.Work == ByHand: // the person holds the meter to one lamp at a time: there is no background
	case c.cfg.Plan.KeepLit:
		c.enter(Entry{Kind: KindBackground, Note: "people are aloft: no fixture is put out to measure another, and no background is taken off; each probe must see its own fixture and little else"})
	default:
		l.tasks = append(l.tasks, c.inDarkness(&reference{}, false)...)
	}
	if c.cfg.Work == ByHand || c.cfg.Plan.KeepLit {
		l.tasks = append(l.tasks, &reference{})
	}
	if c.several() {
		l.tasks = append(append(l.tasks, &colours{}), c.surveyOf(false)...)
	}
	switch c.cfg.Work {
	case Survey:
		c.each(func(u *unit) { l.tasks = append(l.tasks, &asFound{station: station{u: u}}) })
	case Palette:
		l.tasks = append(l.tasks, c.palette()...)
	case Verify:
		n := len(l.tasks)
		for _, s := range c.cfg.Previous {
			if u := c.find(s.Fixture); u != nil && c.ours(u) && len(s.Codes) == len(u.Rest) && s.Result != solve.None {
				l.tasks = append(l.tasks, &recheck{u: u, earlier: s})
			}
		}
		if len(l.tasks) == n {
			c.stop("nothing to verify: the earlier run matched none of the fixtures of this rig", nil)
			return
		}
	default:
		if c.spending != nil {
			l.tasks = append(l.tasks, pricing{})
		}
		c.each(func(u *unit) { l.tasks = append(l.tasks, &firstVisit{u: u}) })
		l.tasks = append(l.tasks, &commonLevel{})
		if c.cfg.Plan.SecondVisit {
			l.tasks = append(l.tasks, secondRound{})
		}
	}
	l.task = l.pop()
	c.tell(l, input{})
}

func (c *Core) each(f func(*unit)) {
	for _, u := range c.units {
		if c.ours(u) {
			f(u)
		}
	}
}

// secondRound reads background and reference, unless the room is dark, every unit again, then both once more, and
// looks at every claim.
type secondRound struct{}

func (secondRound) unit() *unit { return nil }

func (secondRound) step(c *Core, _ input) want {
	var round []task
	c.watchesFirst()
	if c.darkRoom() {
		c.nothingLit() // as after a passage: each lane exchanges its lamps anew
	} else {
		round = c.passages()
	}
	c.each(func(u *unit) { round = append(round, &secondVisit{u: u}) })
	round = append(append(append(round, levelHeld{}), c.passages()...), proof{round: 2})
	c.lane.tasks = append(round, c.lane.tasks...)
	return want{next: true}
}
