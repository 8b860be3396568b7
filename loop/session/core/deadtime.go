package core

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/loop"
	"trueup/loop/solve"
)

// deadTimeReadings bounds what measuring a dead time may cost; a light that
// still moves after so many readings is not waited for here, but where it goes one way still, as under a long fade: then for longFade of them.
const (
	deadTimeReadings = 20
	longFade         = 60
)

// deadTime measures how long a fixture type takes to stand still, once for each type
// and feed, where its profile does not say: the first unit of the type is set, and
// read from arrival on without waiting until the light holds still. Some of these readings
// began before the light settled; the last, which shows that it stands, is handed on to whoever reads the unit there next. Where an
// earlier run has measured it, this one only looks whether that still holds (keptdeadtime.go).
type deadTime struct {
	u       *unit // nil: nothing is measured, or not yet
	key     string
	kept    time.Duration // of an earlier run, or of the profile of a slow lamp, to be looked at; 0: it is measured
	stated  bool          // by the profile
	lit     bool          // the lamp does not fade in from dark, which shows little of how long that takes
	drive   solve.Drive
	began   bool
	cleared bool          // no other lamp of the probe glows
	glow    time.Duration // waited for until then
	arrived time.Duration
	samples []loop.Sample
	shone   bool     // the last of the samples is of the lamp's own light
	second  bool     // the reading after the look at a kept one is awaited
	stood   *Reading // the last reading, which showed that its light stands, for the visit; nil: there is none for it
	shown   shown
	learner *loop.DeadTime
}

// begin tells whether there is anything to measure for a unit, at a drive; nil: at that where its match will begin.
func (d *deadTime) begin(c *Core, u *unit, at solve.Drive) bool {
	key := u.SettleKey()
	stated := c.mayLag(u)
	if key == "" || u.SettleKnown && !stated {
		return false
	}
	known, ok := c.deadTimes[key]
	switch {
	case stated:
		known = u.settle
		c.lags[key] = new(lagging)
	case ok:
		u.settle = max(known, u.least)
		switch {
		case u.bright || !c.unproven[key] && !c.disputed[key]:
			return false
		case c.disputed[key]:
			known = 0
		}
	}
	*d = deadTime{u: u, key: key, drive: at, kept: known, stated: stated, lit: u.bright, shown: d.shown, learner: loop.NewDeadTime(0)}
	if at != nil {
		return true
	}
	// A match of its own, only for where the real one will begin.
	scout, err := c.newMatch(u, 0)
	if err != nil {
		return false // the visit's own match says so
	}
	first := scout.Next(c.now)
	if first.Action != solve.Move {
		return false
	}
	d.drive = first.Drive
	return true
}

// anew begins the measurement again, on a lamp that may have stayed lit.
func (d *deadTime) anew() {
	*d = deadTime{u: d.u, key: d.key, drive: d.drive, kept: d.kept, lit: true, shown: d.shown, learner: loop.NewDeadTime(0)}
}

func (d *deadTime) step(c *Core, in input) want {
	switch {
	case d.kept > 0 && d.lit: // there is no fade to look at: the next unit shows it
		return want{next: true}
	case !d.cleared:
		d.cleared = true
		if d.glow = c.glows(d.u); d.glow > 0 {
			return want{clear: d.u}
		}
		return d.step(c, input{})
	case d.glow > 0 && in.arrived != nil:
		at := in.arrived.At + d.glow
		d.glow = 0
		return want{until: max(at, c.now+1)}
	case !d.began:
		d.began = true
		c.decided(d.u, Step{Action: "dead time", Codes: d.drive})
		return want{set: &move{unit: d.u, drive: d.drive}}
	case in.arrived != nil:
		d.arrived = in.arrived.At
		if !d.lit {
			d.learner.Fade = d.u.fading.up.long
		}
	case in.reading != nil && in.reading.TooDark:
		c.setAside(d.u, in.reading, fmt.Sprintf("it is too dark for %s with the fixture lit: its dead time is not measured", atProbe(in.reading.Probe)))
		return want{next: true} // the visit finds out whether it gives light at all
	case in.reading != nil && in.reading.NotWhite:
		c.setAside(d.u, in.reading, noWhite(in.reading).why+": its dead time is not measured there")
		*d = deadTime{shown: d.shown} // it is measured where the match begins
		return want{next: true}
	case in.reading != nil:
		known := d.take(c, in.reading)
		if d.kept == 0 && known && d.shows(in.reading) {
			d.stood = in.reading
		} else {
			c.timesOnly(d.u, in.reading)
		}
		if d.kept > 0 && d.looked(in.reading) && !d.lags(c) {
			return want{next: true} // the reading after this one decides
		}
		if d.kept == 0 && (known || d.longEnough(c)) {
			if d.shone {
				d.keep(c, in.reading, known)
			} else {
				c.enter(Entry{Kind: KindSettle, Fixture: d.u.Info.Name, Note: fmt.Sprintf("%s reads no light of the fixture: the dead time is not measured", atProbe(in.reading.Probe))})
			}
			return want{next: true}
		}
	}
	return want{read: &Ask{Probe: d.u.Info.Probe, After: d.arrived + d.waits(c), Faint: !c.cfg.Plan.HandMeter, Coloured: true}}
}

// shows tells whether a reading by which the dead time became known serves the visit too, which reads a unit that faded in from
// dark next: all of it was made while the light stood.
func (d *deadTime) shows(r *Reading) bool {
	return !d.lit && d.shone && r.At-r.Integration >= d.arrived+max(d.learner.Wait(), d.u.least)
}

// timesOnly puts a reading on record that tells how long a unit's light takes, and nothing else.
func (c *Core) timesOnly(u *unit, r *Reading) {
	m := c.measured(r, solve.Reading{UV: r.UV, Y: r.Y, HasY: r.HasY, SigmaUV: c.noiseAt(r.Probe).sigmaUV()})
	c.enter(Entry{Kind: KindSettle, Fixture: u.Info.Name, Reading: &m})
}

// take keeps one reading and tells whether the dead time is known by it.
func (d *deadTime) take(c *Core, r *Reading) bool {
	d.samples, d.shone = append(d.samples, d.sample(r)), c.shines(r)
	if d.shone && !d.lit && d.kept == 0 && d.noneGlows() && d.learner.LearnSoon(d.samples, c.noiseAt(d.u.Info.Probe).sigmaUV(), c.noiseAt(d.u.Info.Probe).sigmaLnY()) {
		return true
	}
	return d.learner.Learn(d.samples, c.noiseAt(d.u.Info.Probe).sigmaUV(), c.noiseAt(d.u.Info.Probe).sigmaLnY())
}

// noneGlows tells whether the lamps that went out while the unit faded in are known to be dark soon: the light of one that goes as slowly as
// the other comes makes the level of both together look steady.
func (d *deadTime) noneGlows() bool {
	return !slices.ContainsFunc(d.u.fading.gone, func(o *unit) bool { return o.settle > soonDark })
}

// longEnough tells whether more readings of a light that still moves would not tell when it stands.
func (d *deadTime) longEnough(c *Core) bool {
	n := len(d.samples)
	return n >= longFade || n >= deadTimeReadings && !(d.shone && loop.Climbs(d.samples, c.noiseAt(d.u.Info.Probe).sigmaLnY()))
}

func (d *deadTime) sample(r *Reading) loop.Sample {
	lnY := math.NaN()
	if r.HasY && r.Y > 0 {
		lnY = math.Log(r.Y)
	}
	return loop.Sample{After: r.At - d.arrived, Window: r.Integration, UV: r.UV, LnY: lnY}
}

// keep takes in what was measured, by the last of its readings: that the light stands, or that it moves still.
func (d *deadTime) keep(c *Core, r *Reading, stands bool) {
	wait, what := d.learner.Wait(), "stands still"
	if !stands {
		wait, what = max(wait, d.samples[len(d.samples)-1].After), "may move still, and is waited for,"
	}
	if wait > slowGlow && c.besideSweep(r.Probe, r.XYZ()) { // it is that light which does not stand
		d.u.settle = max(loop.DefaultDeadTime, d.u.least)
		c.deadTimes[d.key] = d.u.settle
		c.enter(Entry{Kind: KindSettle, Fixture: d.u.Info.Name,
			Note: fmt.Sprintf("the light beside %s moves: how long that of %s takes to stand still is not measured", atProbe(r.Probe), d.u.Info.Profile)})
		return
	}
	switch {
	case !d.lit:
		delete(c.fleeting, d.key)
	case len(c.measuredDead[d.key]) == 0:
		c.fleeting[d.key] = true
	}
	if lag, ok := loop.LagOf(d.samples, c.noiseAt(d.u.Info.Probe).sigmaLnY(), d.learner.Fade); ok && lag.Rests() >= wait { // it is the lag that is waited for
		c.lagged(d.key, lag)
	}
	wait = d.measured(c, wait)
	d.u.settle = max(wait, d.u.least)
	c.enter(Entry{Kind: KindSettle, Fixture: d.u.Info.Name,
		Note: fmt.Sprintf("%s: light %s %d ms after the output has arrived", d.u.Info.Profile, what, wait/time.Millisecond)})
}

// measuredDeadTime takes in what was measured for a type and feed, and gives what counts. Lanes that begin together
// measure the same one each for itself: one of them that was disturbed is outvoted, and of two the longer counts.
func (c *Core) measuredDeadTime(key string, wait time.Duration) time.Duration {
	all := append(c.measuredDead[key], wait)
	slices.Sort(all)
	return c.counts(key, all)
}

// counts takes what is measured of a dead time, in order, for all that is known of it. One that is long may be of somebody who stepped into the
// beam while it was measured, or of an odd reading: nothing makes it shorter, and much makes it longer. So the next unit of the type that fades in
// measures it again, and one more where the two are far apart. A slow lamp is waited for in any case, and read meanwhile.
func (c *Core) counts(key string, all []time.Duration) time.Duration {
	n := len(all)
	d := all[n/2]
	c.measuredDead[key], c.deadTimes[key] = all, d
	delete(c.disputed, key)
	if d > loop.DefaultDeadTime && (n == 1 || n == 2 && float64(d) > slowerBy*float64(all[0])) {
		c.disputed[key] = true
	}
	return d
}

// settlesIn takes a dead time for known that a light itself has shown, whatever was measured of its type before.
func (c *Core) settlesIn(key string, wait time.Duration) {
	c.deadTimes[key], c.measuredDead[key] = wait, []time.Duration{wait}
	delete(c.disputed, key)
}

// soonDark is the longest dead time of a lamp that is dark as soon as its output is, as far as the level of the next one goes.
const soonDark = 200 * time.Millisecond

// slowGlow is a dead time of a lamp from which on the light that it leaves behind, beside
// one that comes up, could make the sum of both look steady.
const slowGlow = time.Second

// glows is how long other lamps at a unit's probe may glow when they go out; 0 for none to speak of.
func (c *Core) glows(u *unit) (d time.Duration) {
	for _, o := range c.units {
		if o != u && o.Head >= 0 && o.Info.Probe == u.Info.Probe && o.bright && o.settle >= slowGlow {
			d = max(d, o.settle)
		}
	}
	return d
}
