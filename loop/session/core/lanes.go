package core

import (
	"slices"
	"time"
)

// exchange is the least time between two moments at which lamps are exchanged, where there
// are lanes. What fades begins together then, and is one change of the light for the eye: one
// rise and one fall. Three of them fit into any second of the flash rule.
const exchange = 400 * time.Millisecond

// openLanes gives each group of probes a lane, where the plan allows more than one and no
// person has to hold a meter or stands among the lamps.
func (c *Core) openLanes() {
	p := &c.cfg.Plan
	if p.Lanes < 2 || p.KeepLit || p.HandMeter || !slices.Contains([]Work{Match, Survey, Verify}, c.cfg.Work) {
		return
	}
	var probes []string
	dark := true
	c.each(func(u *unit) {
		dark = dark && len(u.Dark) > 0 // else it lights others whatever is done
		if !slices.Contains(probes, u.Info.Probe) {
			probes = append(probes, u.Info.Probe)
		}
	})
	n := min(len(probes), p.Lanes)
	if !dark || n < 2 {
		return
	}
	for range n + 1 {
		c.lanes = append(c.lanes, &lane{})
	}
	c.byProbe = map[string]*lane{}
	for i, probe := range probes {
		c.byProbe[probe] = c.lanes[i%n]
	}
}

func (c *Core) several() bool { return len(c.lanes) > 0 }

// all are the lanes, the main one first.
func (c *Core) all() []*lane { return append([]*lane{&c.main}, c.lanes...) }

// wake is when time has to pass for a lane; 0 for none.
func (c *Core) wake() (at time.Duration) {
	for _, l := range c.all() {
		if l.until > 0 && (at == 0 || l.until < at) {
			at = l.until
		}
	}
	if open := c.opened + exchange; len(c.gate) > 0 && open > c.now && (at == 0 || open < at) {
		at = open
	}
	return at
}

// present is the lane that a person means: of those at a fixture, the one that has been
// there the longest.
func (c *Core) present() *lane {
	p := &c.main
	for _, l := range c.lanes {
		t := l.task
		if b := l.waiting(); b != nil {
			t = b
		}
		if t != nil && t.unit() != nil && c.ours(t.unit()) && (p == &c.main || l.since < p.since) {
			p = l
		}
	}
	return p
}

// class is which tasks may go on beside each other.
type class uint8

const (
	alone    class = iota // it concerns all lamps
	inDark                // all lamps stand still: each probe reads for itself
	visiting              // each lane at its own lamps
)

// place tells what may go on beside a task, and in which lane it goes on.
func (c *Core) place(t task) (class, *lane) {
	last := c.lanes[len(c.lanes)-1]
	in := func(probe string) *lane {
		if l := c.byProbe[probe]; l != nil {
			return l
		}
		return last
	}
	switch t := t.(type) {
	case *backgrounds:
		if t.only != "" {
			return inDark, in(t.only)
		}
	case *spillReading:
		return inDark, in(t.probe)
	case *reference:
		if u := c.find(c.cfg.Plan.Target.Reference); u != nil && u.Head < 0 {
			return inDark, last
		}
	default:
		if u := t.unit(); u != nil && c.ours(u) {
			return visiting, in(u.Info.Probe)
		}
	}
	return alone, nil
}

// spread hands the tasks that come next to the lanes, as far as they may go on beside each
// other. It tells whether there were any.
func (c *Core) spread() bool {
	l := &c.main
	if !c.several() {
		return false
	}
	first, _ := c.place(l.tasks[0])
	if first == alone {
		return false
	}
	for len(l.tasks) > 0 {
		cl, to := c.place(l.tasks[0])
		if cl != first {
			break
		}
		to.tasks = append(to.tasks, l.pop())
	}
	l.task = &together{}
	c.start()
	return true
}

// start sets all lanes going that have something to do.
func (c *Core) start() {
	for _, l := range c.lanes {
		if len(l.tasks) > 0 && !c.do.Done {
			l.task = idle{}
			c.tell(l, input{})
		}
	}
}

// idle is what a lane is at between two tasks.
type idle struct{}

func (idle) unit() *unit                { return nil }
func (idle) step(_ *Core, _ input) want { return want{next: true} }

// together is what the main lane is at while the others go on.
type together struct {
	again bool // they stood still, and go on from there
}

func (*together) unit() *unit { return nil }

func (t *together) step(c *Core, _ input) want {
	if !t.again {
		return want{next: true}
	}
	t.again = false
	for _, l := range c.lanes {
		l.tasks, l.kept = l.kept, nil
	}
	c.start()
	return want{together: true}
}

// rests tells whether a lane whose task is done does not go on to the next by itself.
func (c *Core) rests(l *lane) bool {
	switch {
	case l == &c.main && len(l.tasks) == 0:
		c.finish()
		return true
	case l == &c.main:
		return c.spread()
	case len(l.tasks) == 0:
		l.task = nil
		return true
	case c.halting || c.due(l.tasks[0]) != nil:
		c.park(l)
		return true
	}
	l.since = c.now
	return false
}

// halts parks a lane that can not go on before dark or reference are read. What it wanted
// is wanted again after that.
func (c *Core) halts(l *lane, w *want) bool {
	if l == &c.main || w.next {
		return false
	}
	if v, ok := l.task.(*firstVisit); ok && v.phase == learningDeadTime {
		return false // it counts from the arrival
	}
	if w.read != nil && !c.halting && c.due(l.task) == nil {
		if !c.crowded(l) {
			return false
		}
		l.puts(*w)
		l.task, l.lit = idle{}, nil
		c.tell(l, input{})
		return true
	}
	if w.read == nil && !c.halting {
		return false
	}
	if w.read != nil && !c.halting {
		c.interrupted(l)
	}
	l.puts(*w)
	c.park(l)
	return true
}

// asideOf is the task that takes up what a lane reads when its meter is silent.
func (c *Core) asideOf(l *lane, read *Ask) task {
	if v, ok := l.task.(*firstVisit); ok && v.phase == learningDeadTime {
		v.dead.anew()
		return v
	}
	return &back{task: l.task, want: want{read: read}}
}

func (c *Core) park(l *lane) {
	c.halting = true
	l.task, l.parked = idle{}, true
}

// goOnTogether lets lamps be exchanged, and goes on in the main lane once the others have
// done their part or stand still.
func (c *Core) goOnTogether() {
	for c.several() && !c.do.Done && !c.holding {
		if _, ok := c.main.task.(*together); !ok {
			return
		}
		for _, l := range c.lanes {
			if l.loose && len(l.moving) == 0 && !c.do.Done {
				l.loose = false
				c.stand(l)
			}
		}
		c.tendGate()
		parked := false
		for _, l := range c.lanes {
			if l.task != nil && !l.parked {
				return
			}
			parked = parked || l.parked
		}
		if c.do.Done {
			return
		}
		if parked {
			c.standStill()
		}
		c.tell(&c.main, input{})
	}
}

// standStill lets dark and reference be read while all lanes wait.
func (c *Core) standStill() {
	c.halting = false
	for _, l := range c.lanes {
		if l.parked {
			l.parked, l.task = false, nil
			l.kept, l.tasks = l.tasks, nil
		}
	}
	now := slices.DeleteFunc(c.darkReadings(true), func(t task) bool {
		b, reads := t.(*backgrounds)
		return reads && c.mute(b.only)
	})
	if c.moving != nil && !c.cfg.Plan.Target.Freeze && (c.looked > c.followed || c.doubtedRef) { // else they stand still for the dark after it
		now = append(now, &reference{again: true, most: nextReference})
	}
	c.main.tasks = append(append(now, &together{again: true}), c.main.tasks...)
}

// mute tells whether the meter of a probe's lane was silent when it was asked last. Its dark is not due
// before it has been heard at its lamp: the others would stand still for it.
func (c *Core) mute(probe string) bool {
	l := c.byProbe[probe]
	return l != nil && l.mute > 0 && l.silent == probe
}

// darkReadings are the tasks that read every probe in the dark.
func (c *Core) darkReadings(round bool) []task {
	if !c.several() {
		return []task{&backgrounds{round: round}}
	}
	all := []task{&darkness{}}
	var probes []string
	for _, u := range c.units {
		if u.Head >= 0 && !slices.Contains(probes, u.Info.Probe) {
			probes = append(probes, u.Info.Probe)
			all = append(all, &backgrounds{only: u.Info.Probe, round: round})
		}
	}
	return all
}

// looksAt counts readings of fixtures so far: where there are lanes, those at one probe, for no
// lane is to stand still twice without having read.
func (c *Core) looksAt(probe string) (n int) {
	if !c.several() {
		return c.looked
	}
	for _, u := range c.units {
		if u.Info.Probe == probe {
			n += u.looks
		}
	}
	return n
}

// gather collects what the lanes had still to do, for a run that goes on after it broke off.
func (c *Core) gather() (all []task) {
	for _, l := range c.lanes {
		if l.task != nil {
			all = append(all, c.pickedUp(l)...)
		}
		all = append(append(all, l.kept...), l.tasks...)
		*l = lane{}
	}
	c.gate, c.halting = nil, false
	return slices.DeleteFunc(all, func(t task) bool {
		b, reads := t.(*backgrounds)
		return passage(t) && !(reads && !b.round)
	})
}
