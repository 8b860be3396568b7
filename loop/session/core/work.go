package core

import "trueup/loop/solve"

// begin lays out the work of the run and starts it. What every fixture is judged
// by comes first: background and reference.
func (c *Core) begin() {
	l := &c.lane
	switch c.cfg.Work {
	case Probe:
		l.task = &probing{u: c.find(c.cfg.Probe.Fixture)}
		c.tell(l, input{})
		return
	case Rehearse:
		c.ref = &Reference{Name: c.cfg.Plan.Target.Text, UV: c.cfg.Plan.Target.UV}
		c.each(func(u *unit) { l.tasks = append(l.tasks, &rehearsal{u: u}) })
		if len(l.tasks) == 0 {
			c.finish()
			return
		}
		l.task, l.tasks = l.tasks[0], l.tasks[1:]
		c.tell(l, input{})
		return
	}
	switch {
	case c.cfg.Work == ByHand: // the person holds the meter to one lamp at a time: there is no background
	case c.cfg.Plan.KeepLit:
		c.enter(Entry{Kind: KindBackground, Note: "people are aloft: no lamp is put out to measure another, and no background is taken off; each probe must see its own lamp and little else"})
	default:
		l.tasks = append(l.tasks, &backgrounds{})
	}
	l.tasks = append(l.tasks, &reference{})
	if c.cfg.Plan.WarmUp > 0 {
		l.tasks = append(l.tasks, &warmUp{})
	}
	switch c.cfg.Work {
	case Survey:
		c.each(func(u *unit) { l.tasks = append(l.tasks, &asFound{station: station{u: u}}) })
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
		c.each(func(u *unit) { l.tasks = append(l.tasks, &firstVisit{u: u}) })
		l.tasks = append(l.tasks, &commonLevel{})
		if c.cfg.Plan.SecondVisit {
			c.each(func(u *unit) { l.tasks = append(l.tasks, &secondVisit{u: u}) })
		}
		if c.cfg.Plan.DarkEnd {
			l.tasks = append(l.tasks, &backgrounds{again: true})
		}
	}
	l.task, l.tasks = l.tasks[0], l.tasks[1:]
	c.tell(l, input{})
}

func (c *Core) each(f func(*unit)) {
	for _, u := range c.units {
		if c.ours(u) {
			f(u)
		}
	}
}
