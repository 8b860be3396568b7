package core

import "slices"

// darkRound reads background and a reference that shines at a probe of its own in one darkness: the two meters
// are asked in turn, and where they run by themselves neither waits for the other.
type darkRound struct {
	back  *backgrounds
	ref   *reference
	wants [2]want // of the two, to be asked for
	open  [2]bool // not done yet
	asked int     // which of them was asked last
	began bool
}

// inDarkness are the tasks that read background and reference.
func (c *Core) inDarkness(ref *reference, round bool) []task {
	dark := c.darkReadings(round)
	b, one := dark[0].(*backgrounds)
	if !one || !c.shinesApart() {
		return append(dark, ref)
	}
	ref.most = min(ref.most, nextReference) // it is read on as long as the background is, where the meters keep pace
	return []task{&darkRound{back: b, ref: ref}}
}

// shinesApart tells whether the reference is a light that nobody puts out, at a probe of its own that runs by itself.
func (c *Core) shinesApart() bool {
	u := c.find(c.cfg.Plan.Target.Reference)
	return u != nil && u.Head < 0 && !c.cfg.Plan.HandMeter && !c.readsLamps(u.Info.Probe)
}

// look is a look at the dark of a probe for which a visit or a lane waits. It takes the reference along where that costs no time: what a lamp's readings
// have in common is the doubt of both.
func (c *Core) look(probe string) task {
	b := &backgrounds{only: probe}
	if c.moving == nil || c.cfg.Plan.Target.Freeze || c.several() || !c.shinesApart() || !c.keepPace(c.find(c.cfg.Plan.Target.Reference).Info.Probe, probe) {
		return b
	}
	return &darkRound{back: b, ref: &reference{again: true, most: nextReference, rides: true}}
}

// readsLamps tells whether a probe has a lamp that the run drives.
func (c *Core) readsLamps(probe string) bool {
	return slices.ContainsFunc(c.units, func(u *unit) bool { return u.Head >= 0 && u.Info.Probe == probe })
}

func (d *darkRound) unit() *unit {
	if d.began && d.asked == 1 {
		return d.ref.u
	}
	return nil
}

func (d *darkRound) step(c *Core, in input) want {
	switch {
	case in.refused != "":
		return d.back.step(c, in)
	case in.reading != nil:
		d.hear(c, d.asked, in)
	case in.arrived != nil:
		for i := range d.open {
			if d.open[i] {
				d.hear(c, i, in)
			}
		}
	case !d.began:
		d.began = true
		dark := false
		for i := range d.open {
			d.open[i] = true
			d.hear(c, i, input{})
			dark = dark || d.wants[i].dark
		}
		if dark {
			return want{dark: true}
		}
	}
	for i := range d.open {
		if d.wants[i].fail != nil {
			return d.wants[i]
		}
	}
	if r := d.ref; d.open[1] && !d.open[0] && r.along { // it wanted to be read on for as long as the dark alone
		if r.along = false; r.asKnown(c) && r.enough(c) {
			r.follow(c)
			d.open[1] = false
		}
	}
	next := 1 - d.asked
	if !d.open[next] {
		next = d.asked
	}
	if !d.open[next] {
		return want{next: true}
	}
	d.asked = next
	return d.wants[next]
}

// hear tells one of the two what came, and keeps what it wants next.
func (d *darkRound) hear(c *Core, i int, in input) {
	t := task(d.back)
	if i == 1 {
		t, d.ref.along = d.ref, d.open[0] && d.ref.again && c.keepsPace(d.ref, d.back)
	}
	d.wants[i] = t.step(c, in)
	d.open[i] = !d.wants[i].next
}

// keepsPace tells whether the meter at the reference reads about as fast as the one at the dark probe that is read meanwhile: it may then be
// read on, for nothing where the meters run by themselves, and what is claimed next does not rest on a look at the reference that lies a whole passage back.
func (c *Core) keepsPace(ref *reference, back *backgrounds) bool {
	if ref.u == nil || len(back.probes) == 0 {
		return false
	}
	return c.keepPace(ref.u.Info.Probe, back.probes[0])
}

// keepPace tells the same of the meters of two probes.
func (c *Core) keepPace(reference, dark string) bool {
	a, b := c.paces[reference], c.paces[dark]
	return a != nil && b != nil && a.least > 0 && a.least <= b.least*3/2
}

// darkElsewhere tells whether another lane still reads its probe in the dark, by a meter that keeps pace with that at the reference.
func (c *Core) darkElsewhere(ref *reference) bool {
	return slices.ContainsFunc(c.all(), func(l *lane) bool {
		b, reads := l.task.(*backgrounds)
		return reads && l != c.lane && c.keepsPace(ref, b)
	})
}
