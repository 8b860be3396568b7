package core

import (
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/solve"
)

// task is one piece of a lane's work. It is told what came of its last want and
// returns the next; the first call is told began.
type task interface {
	step(c *Core, in input) want
	// unit is the fixture that the task is about; nil for none.
	unit() *unit
}

// input is what a task is told. Exactly one field is set, none at the beginning.
type input struct {
	arrived *loop.Arrival // the task's own head; its darkened neighbours are down too
	reading *Reading
	woke    bool   // the moment waited for has come
	silent  string // the reading asked for did not come in time, in words; told to keeping alone
	refused string // the lamp did not take the wish, in words
	by      *unit  // of refused: who it was, and in its own words
	why     string
}

// want is what a task asks for next. Exactly one field is set.
type want struct {
	set      *move         // light a unit: arrived comes when it and all it darkens stand
	clear    *unit         // take all other units of its probe out: arrived comes with the last
	look     []move        // set units at once, and leave all others: arrived comes with the last
	dark     bool          // take every unit out: arrived comes with the last
	read     *Ask          // reading comes; the lane numbers it
	until    time.Duration // woke comes at this moment
	preset   bool          // set dark units to the colour they are first lit at: arrived comes with the last
	together bool          // wait for the lanes
	next     bool          // the task is done
	fail     error         // the run can not go on
}

// move is a drive for a unit. Where keepOthers is not set all other units go dark at
// the same time, so that one lamp fades into the next and the stage is not dark in
// between; the governor paces both.
type move struct {
	unit       *unit
	drive      solve.Drive
	keepOthers bool
	by         colorcalc.UV // how far its colour is to go, u'v', of a unit that is lit and read; 0: not known
}

// back takes a lane back to a task that had to wait for the dark or for the reference, or for a run that broke off: what it wanted is wanted
// again, and before a reading the unit is set as it stood.
type back struct {
	task  task
	want  want
	began bool
	anew  bool          // the background has jumped: what the task has read does not count
	until time.Duration // it waits for this moment first; 0: for none
}

// renewed is a task that can begin anew because the background has jumped.
type renewed interface{ renew(c *Core) }

// puts has a lane come back to its task, and to what that wanted, before anything else.
func (l *lane) puts(w want) {
	b, ok := l.task.(*back) // it had not come back yet
	if !ok {
		b = &back{task: l.task, want: w}
	}
	b.began = false
	l.tasks = append([]task{b}, l.tasks...)
}

// atFixture is the task that goes back to its fixture, or the task itself.
func atFixture(t task) task {
	if b, ok := t.(*back); ok {
		return b.task
	}
	return t
}

func (b *back) unit() *unit { return b.task.unit() }

func (b *back) step(c *Core, in input) want {
	u := b.task.unit()
	if at := b.until; at > c.now && !b.began {
		b.until = 0
		return want{until: at}
	}
	if !b.began {
		b.began = true
		if t, ok := b.task.(renewed); ok && b.anew {
			t.renew(c)
			c.lane.task = b.task
			return b.task.step(c, input{})
		}
		if w := b.want; w.read == nil {
			c.lane.task = b.task
			if w.set == nil && !w.dark { // it had failed: let it try again
				return b.task.step(c, input{})
			}
			return w
		}
		// As it stood is not enough where there are lanes: others may be lit at its probe, or beside it.
		if d := u.stood; d != nil && (!slices.Equal(d, u.at.Sent) || c.several() && c.lane.lit != u) {
			return want{set: &move{unit: u, drive: d}}
		}
	}
	c.lane.task = b.task
	if in.refused != "" {
		return b.task.step(c, in)
	}
	r := *b.want.read
	r.After = max(r.After, c.now)
	if u.at.Sent != nil {
		r.After = max(r.After, u.at.At+u.settle)
	}
	return want{read: &r}
}

// lane works through its tasks one after another.
type lane struct {
	tasks  []task
	task   task
	moving []*unit       // wished for, not yet arrived
	asked  uint64        // the ask that is out; 0: none
	until  time.Duration // waited for; 0: nothing
	lead   *unit         // whose arrival the task is told
	last   time.Duration // the latest arrival among those waited for
	held   *want         // kept back while a person holds the run
	wanted want          // by the task at last, done or kept back
	mute   time.Duration // since when the meter is silent that was asked; 0: it is not
	silent string        // the probe of that meter
	later  *Ask          // for what its task waits, while another reading shows when a lamp answers
	lit    *unit         // that is alone lit at the lane's probes now
	gated  *want         // what it waits for at the gate
	next   *unit         // that it lights just now
	since  time.Duration // when it came to its present task
	loose  bool          // another lane has taken the last unit that it waited for
	kept   []task        // while all lanes stand still for dark or reference
	parked bool          // it stands still for that
	looks  looks         // at background and reference, for which its visit was interrupted
}

// waiting is the way back to a fixture that waits while background or reference are read.
func (l *lane) waiting() *back {
	tasks := l.tasks
	if len(l.kept) > 0 {
		tasks = l.kept
	}
	if len(tasks) == 0 {
		return nil
	}
	if b, ok := tasks[0].(*back); ok && b.unit() != nil {
		return b
	}
	return nil
}

// pop takes the next task off. The list forgets it: a task keeps all that was estimated of a
// fixture, and a run may have hundreds.
func (l *lane) pop() task {
	t := l.tasks[0]
	l.tasks = slices.Delete(l.tasks, 0, 1)
	return t
}

// drop takes the way back to a fixture off that waits.
func (l *lane) drop() {
	if len(l.kept) > 0 {
		l.kept = slices.Delete(l.kept, 0, 1)
		return
	}
	l.pop()
}

// abandon notes that what is on its way is not waited for any more. A lamp that was to go out may
// still be lit: whoever lights one at these probes next takes all others out again.
func (l *lane) abandon() {
	for _, u := range l.moving {
		u.adrift = true
		l.lit = nil
	}
}

// tell hands an input to the lane's task and follows its wants until one of
// them has to be waited for.
func (c *Core) tell(l *lane, in input) {
	for {
		c.lane = l
		w := l.task.step(c, in)
		for w.next && !c.do.Done {
			if c.rests(l) {
				return
			}
			if t := c.due(l.tasks[0]); t != nil {
				l.task = t
			} else {
				l.task = l.pop()
			}
			c.lane = l
			w = l.task.step(c, input{})
		}
		l.wanted = w
		switch {
		case c.do.Done:
			return
		case w.fail != nil:
			c.stop(w.fail.Error(), w.fail)
			return
		case c.holding:
			l.held = &w
			return
		case c.halts(l, &w):
			return
		}
		if w.read != nil {
			if t := c.due(l.task); t != nil {
				c.interrupted(l)
				l.puts(w)
				l.task, in = t, input{}
				continue
			}
		}
		arrived := c.perform(l, w)
		if arrived == nil {
			return
		}
		in = input{arrived: arrived} // everything stands there already
	}
}

// perform sends what a want asks for. It returns an arrival where there was nothing to
// send.
func (c *Core) perform(l *lane, w want) *loop.Arrival {
	switch {
	case w.together:
		return nil // the lanes are on their way
	case w.set != nil && l != &c.main && l.lit != w.set.unit && l.next != w.set.unit:
		l.gated = &w
		c.gate = append(c.gate, l)
		return nil
	case w.read != nil:
		a := l.glimpseFirst(c, w.read)
		c.asks++
		a.ID = c.asks
		l.asked = a.ID
		c.do.Asks = append(c.do.Asks, *a)
		c.restColours(l)
		c.readBeside(l.task)
		return nil
	case w.until > 0:
		l.until = w.until
		return nil
	}
	l.lead, l.later, l.last, l.moving = nil, nil, 0, nil
	c.noneBeside(&w)
	if w.dark {
		c.darken(l, func(*unit) bool { return true })
		c.nothingLit()
	}
	if u := w.clear; u != nil {
		c.darken(l, func(o *unit) bool { return o != u && o.Info.Probe == u.Info.Probe })
		l.lit = nil
	}
	if w.preset {
		c.preset(l)
	}
	for _, m := range w.look {
		c.wish(l, m.unit, m.drive)
	}
	if len(w.look) > 0 {
		c.nothingLit()
	}
	if m := w.set; m != nil {
		u := m.unit
		paused := largePause - (c.now - u.large)
		u.fading = fading{began: c.now}
		if u.goes(m.drive, -1) >= largeStep {
			u.large = c.now
		}
		if u.bright && l.lit == u {
			u.fading.step = m.by
		}
		before := len(l.moving)
		if l.lit != u && !c.cfg.Plan.KeepLit && !m.keepOthers {
			// Lamps of other probes too: all fades go together, and nobody has read what they
			// throw on this one, unless there are lanes.
			c.darken(l, func(o *unit) bool { return o != u && !c.staysLit(l, o) })
			if !u.bright {
				out := slices.DeleteFunc(slices.Clone(l.moving[before:]), func(o *unit) bool { return !o.bright }) // others only take another colour
				c.exchanged(u, m.drive, out)
				u.fading.paused = max(0, paused)
			}
		}
		u.ahead = nil
		if l == &c.main {
			c.nothingLit()
		}
		c.main.lit = nil // that one is being taken out
		l.lit = u
		if m.keepOthers {
			l.lit = nil
		}
		l.lead = u
		u.stood = slices.Clone(m.drive)
		c.wish(l, u, m.drive)
		if c.ours(u) && !m.keepOthers && l == &c.main {
			c.preset(l)
		}
	}
	if len(l.moving) == 0 {
		return &loop.Arrival{At: c.standSince(&w)}
	}
	return nil
}

// standSince is since when all stand as wanted already. Lamps that have been dark for long need not settle again: readings
// that came meanwhile, in the same dark, may serve.
func (c *Core) standSince(w *want) (at time.Duration) {
	if !w.dark {
		return c.now
	}
	at = c.now - c.slowest()
	for _, u := range c.units {
		if u.Head >= 0 && len(u.Dark) > 0 {
			at = max(at, u.at.At)
		}
	}
	return at
}

// darken takes the light of units away that are not dark already.
func (c *Core) darken(l *lane, which func(*unit) bool) {
	for _, o := range c.units {
		if o.Head < 0 || len(o.Dark) == 0 || !which(o) {
			continue
		}
		now := o.at.Sent
		if now == nil {
			now = o.Rest
		}
		dark := o.Darkened(now)
		if o.ahead != nil {
			dark = o.Darkened(o.ahead)
		}
		if slices.Equal(dark, now) && o.at.Sent != nil && !o.adrift {
			continue
		}
		if c.waitedFor(l, o) && slices.Equal(o.wished, dark) {
			l.moving = append(l.moving, o) // it is going out for another lane
			continue
		}
		c.wish(l, o, dark)
	}
}

// waitedFor tells whether a lane other than l waits for a unit.
func (c *Core) waitedFor(l *lane, u *unit) bool {
	for _, o := range c.lanes {
		if o != l && slices.Contains(o.moving, u) {
			return true
		}
	}
	return false
}

func (c *Core) wish(l *lane, u *unit, d solve.Drive) {
	for _, o := range c.lanes {
		if i := slices.Index(o.moving, u); i >= 0 && o != l { // what it waited for does not come any more
			o.moving = slices.Delete(o.moving, i, i+1)
			o.loose = len(o.moving) == 0
		}
	}
	c.colouring = slices.DeleteFunc(c.colouring, func(o *unit) bool { return o == u })
	u.wished = slices.Clone(d)
	c.do.Wishes = append(c.do.Wishes, Wish{Head: u.Head, Codes: slices.Clone(d)})
	l.moving = append(l.moving, u)
	u.presetting = false
	u.bright = u.bright || !slices.Equal(u.Darkened(d), d)
}

// arrived takes in that a head stands where it was wished. It tells whether
// anything was waiting for it.
func (c *Core) arrived(e *Event) bool {
	l, u := c.laneMoving(e.Head)
	if l == nil {
		c.coloured(e)
		return false
	}
	if len(e.Sent) != len(u.Spec.Channels) {
		c.stop(u.Info.Name+": the wire does not tell what it sends", nil)
		return true
	}
	u.at, u.adrift = loop.Arrival{At: e.When, Sent: slices.Clone(e.Sent)}, false
	was := u.bright || u.outAt == 0
	switch u.bright = !slices.Equal(u.Darkened(e.Sent), e.Sent); {
	case !u.bright:
		if u.litAt = 0; was {
			u.outAt = e.When
		}
	case u.litAt == 0:
		u.litAt = e.When
		u.looksAgain()
	}
	var waited []*lane
	for _, l := range c.all() {
		if i := slices.Index(l.moving, u); i >= 0 {
			l.moving = slices.Delete(l.moving, i, i+1)
			l.last = max(l.last, e.When)
			waited = append(waited, l)
		}
	}
	for _, l := range waited {
		if !c.do.Done {
			c.stand(l)
		}
	}
	return true
}

// stand tells the lane's task once all that it waited for stand.
func (c *Core) stand(l *lane) {
	if len(l.moving) > 0 {
		return
	}
	a := loop.Arrival{At: l.last}
	if l.lead != nil {
		a.Sent = slices.Clone(l.lead.at.Sent)
		own := l.lead.at.At
		l.lead.at.At = l.last
		c.stoodAfter(l.lead, own)
		l.lead.tally.steps++
	}
	c.tell(l, input{arrived: &a})
}
