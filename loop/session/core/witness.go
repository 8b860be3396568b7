package core

import (
	"time"

	"trueup/loop/scene"
)

// A lamp may be read on both visits beside a light that somebody has put on meanwhile, and that was out whenever the dark was looked at: nothing that is read
// of the lamp tells of it. Where the next lamp is read at another probe, the one that was left stands in the dark, and its meter is read on for nothing. What
// differs there, beyond doubt, from the background that was taken off asks for a look at the dark before the next lamp, and that decides. What does not differ
// spares a look where lights have come and gone.
//
// Such a reading may have some of the other lamp's light in it. Lamps that throw much on other probes show it when the first one is lit, right after the dark
// was read, or by a look that finds the dark as it was: from then on no probe is read beside a lamp.
//
// It serves where all that shines at a probe beside its lamps is next to nothing, but for lights that come and then stand. A sky, or a light that swings, is
// never quite as it was, and is looked at in the dark as often as its wandering asks.

const (
	// mostBeside readings are made one after another to see whether two agree.
	mostBeside = 4
	// besideAgain is how old the last may be at a probe where lights come and go.
	besideAgain = time.Second
	// standsLook is how long a light that has come is looked at, in the dark, to see that it stands.
	standsLook = 2 * time.Second
	// besideAsk is added to the number of an ask for such a reading: no task waits for it.
	besideAsk = 1 << 32
)

// witness is what is read of a dark probe beside lamps of others.
type witness struct {
	asked  uint64        // the ask that is out; 0: none
	got    []Reading     // that have told nothing yet
	at     time.Duration // of the last reading by which the background is as it is taken to be; 0: none yet
	silent bool          // its meter did not answer
	differ []Reading     // those that ask for a look at the dark; empty: none do
	stands bool          // lights have come or gone, and each stood
}

// readsBeside tells whether dark probes are read beside lamps of others in this run.
func (c *Core) readsBeside() bool {
	return c.cfg.Work == Match && !c.several() && !c.strayed && !c.cfg.Plan.HandMeter && !c.cfg.Plan.KeepLit
}

// leavesDark tells whether a probe can be read while a task goes on, since that is at a lamp of another one.
func (c *Core) leavesDark(probe string, d *dark, t task) bool {
	u := t.unit()
	return u != nil && c.ours(u) && u.Info.Probe != probe && c.readsBeside() && !d.witness.silent
}

// readBeside asks for readings of the probes that stand in the dark beside a lane's task, where they are wanted.
func (c *Core) readBeside(t task) {
	for _, u := range c.units {
		probe := u.Info.Probe
		d := c.background[probe]
		if d == nil || c.holding || !c.ours(u) || d.witness.asked != 0 || !c.leavesDark(probe, d, t) || !c.wantsBeside(probe, d) {
			continue
		}
		if since, dark := c.darkSince(probe); dark {
			c.besides++
			d.witness.asked = besideAsk + c.besides
			c.do.Asks = append(c.do.Asks, Ask{ID: d.witness.asked, Probe: probe, After: since, Dark: true})
		}
	}
}

// wantsBeside tells whether a reading of a dark probe is wanted: a lamp was read there since the background was last seen to be as it is taken to be, or none
// anywhere, or lights come and go there.
func (c *Core) wantsBeside(probe string, d *dark) bool {
	if d.wanted || len(d.witness.differ) > 0 || d.blinks != "" || d.swings || !d.quiet(c) {
		return false
	}
	return c.readSince(probe, d) || d.looked < 0 && d.witness.at == 0 || d.witness.stands && c.now-d.known() > besideAgain
}

// darkSince is since when all lamps of a probe are out; false: they are not.
func (c *Core) darkSince(probe string) (at time.Duration, dark bool) {
	for _, u := range c.units {
		if u.Info.Probe != probe || u.Head < 0 {
			continue
		}
		if u.bright || u.adrift {
			return 0, false
		}
		at = max(at, u.at.At+u.settle)
	}
	return at, true
}

// known is when the background was last seen to be as it is taken to be.
func (d *dark) known() time.Duration { return max(d.when, d.witness.at) }

// quiet tells whether all that shines at a probe beside its lamps is next to nothing, but for lights that came and stand.
func (d *dark) quiet(c *Core) bool {
	switch {
	case c.sweepsSomewhere(): // at its trough such a light is next to nothing
		return false
	case d.witness.stands || len(d.jumps) > 0:
		return d.witness.stands
	}
	light := d.faintest(c)
	for _, u := range c.units { // before any lamp is read there, others tell
		if d.light.Y == 0 && c.ours(u) && u.own.Y > 0 && (light.Y == 0 || u.own.Y < light.Y) {
			light = u.own
		}
	}
	return light.Y > 0 && effect(c.ref, light, d.Mean()) <= littleDark*c.cfg.Plan.Tolerance
}

// sweepsSomewhere tells whether the light beside any probe was seen to sweep of late.
func (c *Core) sweepsSomewhere() bool {
	return c.anyBackground(func(d *dark) bool { return d.Sweeps() })
}

// standsStill tells whether the light at a probe that was quiet stands since readings of a passage have met it: got are all of them, rest those since. It
// stands if it is as it was seen beside a lamp before, or for standsLook.
func (d *dark) standsStill(c *Core, got, rest []Reading) bool {
	if len(rest) < 2 || len(got)-len(rest) > 1 || d.swings || !c.readsBeside() || d.witness.silent || !d.quiet(c) || !c.lampsElsewhere(d) {
		return false
	}
	from, to := d.witness.differ, rest
	if len(from) == 0 {
		if rest[len(rest)-1].At-rest[0].At < standsLook {
			return false
		}
		from, to = rest[:len(rest)/2], rest[len(rest)/2:]
	}
	was, now, at := meanXYZ(from), meanXYZ(to), from[len(from)-1].At
	return c.slight(d, now.Sub(was), slightDark) || scene.NewBackground(was, len(from), c.meter(d.probe), at).Off(now, c.meter(d.probe), at) <= jumpAt
}

// lampsElsewhere tells whether there are lamps at another probe too.
func (c *Core) lampsElsewhere(d *dark) bool {
	for _, u := range c.units {
		if c.ours(u) && c.background[u.Info.Probe] != d {
			return true
		}
	}
	return false
}

// heardBeside takes in the answer to an ask for a reading beside a lamp. False: it is the answer to another ask.
func (c *Core) heardBeside(e *Event) bool {
	if e.Ask < besideAsk {
		return false
	}
	for _, u := range c.units {
		d := c.background[u.Info.Probe]
		if d == nil || d.witness.asked != e.Ask {
			continue
		}
		d.witness.asked = 0
		if e.Reading == nil {
			d.witness.silent = true
			return true
		}
		r := e.Reading.inTheDark()
		m := Measured{UV: r.UV, RawUV: r.UV, Lux: r.Y, RawLux: r.Y, Probe: r.Probe, MeterSeq: r.Seq, IntegrationS: r.Integration.Seconds()}
		c.enter(Entry{Kind: KindAside, Reading: &m, Note: "read in the dark beside a fixture of another probe: it tells whether the background is as it was"})
		d.witness.got = append(d.witness.got, r)
		c.weighBeside(d)
		return true
	}
	return true // of one that is not waited for any more
}

// weighBeside looks at what readings of a dark probe beside a lamp tell so far.
func (c *Core) weighBeside(d *dark) {
	w := &d.witness
	jumps, rest, open := d.scan(c, w.got)
	switch {
	case len(d.harmful(c, jumps)) > 0:
		w.differ, w.got = rest, nil
		if d.looked < 0 && w.at == 0 {
			c.straysAtFirst()
		}
	case !open && len(rest) > 0:
		w.at, w.got = w.got[len(w.got)-1].At, nil
	case len(w.got) >= mostBeside:
		w.got = nil
	default:
		c.readBeside(c.main.task)
	}
}

// straysAtFirst takes in that a dark probe differs the first time it is read beside a lamp. Where another one does too, by one reading at least, it is that
// lamp's light.
func (c *Core) straysAtFirst() {
	n := 0
	for _, d := range c.background {
		if len(d.witness.differ)+len(d.witness.got) > 0 {
			n++
		}
	}
	if n < 2 {
		return
	}
	c.strayed = true
	c.dropBeside("")
	for _, d := range c.background {
		d.witness.differ = nil
	}
}

// noneBeside drops what a want of a lane leaves no dark probe for.
func (c *Core) noneBeside(w *want) {
	switch {
	case w.dark, len(w.look) > 0, w.clear != nil:
		c.dropBeside("")
	case w.set != nil:
		c.dropBeside(w.set.unit.Info.Probe)
	}
}

// dropBeside drops what is asked for beside a lamp, at one probe or, "", at all.
func (c *Core) dropBeside(probe string) {
	for _, u := range c.units {
		d := c.background[u.Info.Probe]
		if d == nil || d.witness.asked == 0 || probe != "" && probe != u.Info.Probe {
			continue
		}
		c.do.Drop = append(c.do.Drop, d.witness.asked)
		d.witness.asked, d.witness.got = 0, nil
	}
}
