package core

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/loop/solve"
)

// Figures of a background that jumps.
const (
	jumpAt     = 20.0             // squared distance (three degrees of freedom) of a reading that may be one
	jumpHarm   = 0.5              // of the tolerance: a jump that moves a lamp by more is looked after
	jumpPart   = 0.1              // of the background: one by less is looked after only where lamps were read
	watchFor   = 8 * time.Second  // after such a jump, for a light that blinks faster
	passing    = time.Second      // a change that lasts no longer is a hand or a person that passes,
	mostHands  = 2                // if it is not seen more often
	handsIn    = 10 * time.Second // in so long
	besideFor  = time.Minute      // where one blinks at another probe
	warySince  = 2 * time.Minute  // after such a jump: a light that goes on and off may do so again
	waryPause  = 15 * time.Second // between two passages then, where the probe was read since
	mostWatch  = 1200             // readings of a dark probe that is watched: a minute of a fast meter,
	longWatch  = time.Minute      // and a minute of any
	sayWatch   = 12 * time.Second // after which it is said
	seenShare  = 0.01             // of a lamp's light: a background below that explains no odd reading
	unlikeness = 0.04             // of a lamp's light: a level that a second visit may differ by
)

// scan looks through readings of a dark probe in their order. Two in a row that lie far from
// what was expected and agree with each other are a jump; one alone is set aside. Rest are those since the
// last jump; open tells that the last reading is far and not confirmed yet.
func (d *dark) scan(c *Core, got []Reading) (jumps []scene.Jump, rest []Reading, open bool) {
	now := d.Background
	mean, was := d.Mean(), d.Mean() // was: before the last jump
	seen := d.known()               // of the last reading that was as before
	var far *Reading
	for i := range got {
		r := &got[i]
		if !r.tellsLevel() {
			continue
		}
		if (d.black || len(jumps) > 0) && c.slight(d, r.XYZ().Sub(mean), slightDark) || now.Off(r.XYZ(), c.meter(d.probe), r.At) <= jumpAt {
			rest, far, seen = append(rest, *r), nil, r.At
			continue
		}
		if n := len(jumps); n > 0 && far == nil && glowsOn(was, &rest[len(rest)-1], r) { // still the same jump
			rest = []Reading{rest[len(rest)-1], *r}
			mean = meanXYZ(rest)
			jumps[n-1].By, seen, now = mean.Sub(was), r.At, scene.NewBackground(mean, 2, c.meter(d.probe), r.At)
			continue
		}
		if far == nil || scene.NewBackground(far.XYZ(), 1, c.meter(d.probe), far.At).Off(r.XYZ(), c.meter(d.probe), r.At) > jumpAt &&
			!((far.black || r.black) && c.slight(d, r.XYZ().Sub(far.XYZ()), slightDark)) && !glowsOn(mean, far, r) {
			far = r
			continue
		}
		rest = []Reading{*far, *r}
		to := meanXYZ(rest)
		jumps = append(jumps, scene.Jump{Since: seen, At: far.At, By: to.Sub(mean)})
		seen, was = r.At, mean
		now, mean, far = scene.NewBackground(to, 2, c.meter(d.probe), r.At), to, nil
	}
	return jumps, rest, far != nil
}

// harmful are the jumps that would have moved a lamp read at the probe.
func (d *dark) harmful(c *Core, all []scene.Jump) (some []scene.Jump) {
	light := d.faintest(c)
	for i := range all {
		if !(light.Y > 0) && math.Abs(all[i].By.Y) < jumpPart*d.Mean().Y {
			continue // no lamp was read yet, and it may be the meter's scatter near its own dark
		}
		if c.tooMuch(light, all[i:i+1]) {
			some = append(some, all[i])
		}
	}
	return some
}

// lasting are the jumps of a passage, from a light of the room that was known before, but for what comes and is gone again at once and may be somebody: hands
// that took two windows alike each, and some shades. A light that goes on and off so fast comes again while the dark is watched, and again.
func (d *dark) lasting(now time.Duration, room colorcalc.XYZ, all []scene.Jump) []scene.Jump {
	some := withoutHands(all)
	if p := passings(room, some); p.passed+d.shades.lately(now) <= mostShades {
		some = p.kept
	}
	return some
}

// withoutHands are jumps but for hands that took two windows alike each, if they do not come too often.
func withoutHands(all []scene.Jump) (some []scene.Jump) {
	var hands []time.Duration
	for i := 0; i < len(all); i++ {
		if i+1 == len(all) || all[i+1].At-all[i].At > passing || math.Abs(all[i].By.Y+all[i+1].By.Y) >= math.Abs(all[i].By.Y)/2 {
			some = append(some, all[i])
			continue
		}
		hands = append(hands, all[i].At)
		if n := len(hands) - 1 - mostHands; n >= 0 && all[i].At-hands[n] <= handsIn {
			return all
		}
		i++
	}
	return some
}

// watching tells whether a passage has to go on because the background has jumped: until
// that has been confirmed, and until a light that blinks would have done so again.
func (d *dark) watching(c *Core, got []Reading) bool {
	if c.cfg.Plan.HandMeter || len(got) >= mostWatch || len(got) > 0 && c.now-got[0].At > longWatch {
		return false
	}
	if !d.besideBlinks() && c.asBefore(d, got) {
		return false
	}
	jumps, rest, open := d.scan(c, got)
	harmful := d.harmful(c, jumps)
	if len(harmful) == 0 { // near its own dark a meter may scatter so that no two readings agree: that is not waited for
		return d.besideBlinks() && c.now-got[0].At < besideFor || (open || len(rest) < nextDark) && len(got) < mostDark
	}
	if is, open := d.shaded(c, got, jumps, rest); is || open {
		return open
	}
	if d.jumpsSwing(c, got, harmful) || d.sweeps(c, got, jumps) {
		return false
	}
	met := harmful[len(harmful)-1].At <= got[0].At // between two passages: it may have been a swing
	if d.blinksBy(c, d.Mean(), harmful, got[0].At) && (!met || c.now-got[0].At >= swingFor) {
		return false
	}
	return c.now-d.watchedFrom(c, harmful, got[0].At) < d.watchesFor(c, harmful, got, rest) || open || len(rest) < nextDark || d.besideBlinks() && c.now-got[0].At < besideFor
}

// blinksBy tells whether jumps from a light of the room, after those before, show a light that goes on and off too fast to read a lamp in between. Where one does at another
// probe a single jump that fits it shows that this probe sees it too, if it came while it was watched since then: what changed between
// two passages may have been anything.
func (d *dark) blinksBy(c *Core, room colorcalc.XYZ, harmful []scene.Jump, since time.Duration) bool {
	harmful = d.lasting(c.now, room, harmful)
	seen := d.besideBlinks() && slices.ContainsFunc(harmful, func(j scene.Jump) bool {
		return j.At > since && sameLight(d.beside, j, since, c.noiseAt(d.probe).sigmaUV()*max(d.Mean().Y/math.Abs(j.By.Y), 1))
	})
	all := append(slices.Clone(d.jumps), harmful...)
	short := 0
	if d.witness.stands { // somebody who comes again soon, and stays, leaves one short time between
		short = 1
	}
	return seen || scene.Blinks(all) && !standsLong(all, short)
}

// wary tells whether a probe has to be looked at in the dark, since its background jumped not long ago
// and lamps were read there after its last passage: a light that goes on and off in between is met only so.
// It is before a task.
func (c *Core) wary(probe string, d *dark, before task) bool {
	n := len(d.jumps)
	switch {
	case c.mute(probe):
		return false
	case d.blinks != "":
		return d.overdue(c, probe, before)
	case d.witness.stands && c.leavesDark(probe, d, before):
		return false
	case c.bracketed(d):
		return c.bracket(probe, d, before)
	case n == 0 || c.now-d.jumps[n-1].At > warySince:
		return c.alongside(probe, d)
	case c.now-d.known() <= waryPause:
		return false
	}
	return c.readSince(probe, d)
}

// readSince tells whether lamps were read at a probe since its background was last seen to be as it is taken to be.
func (c *Core) readSince(probe string, d *dark) bool {
	return slices.ContainsFunc(c.units, func(u *unit) bool { return u.Info.Probe == probe && u.read > d.known() })
}

// leapt takes in that the background has jumped: where it was is forgotten, and what was read
// since it was last seen to be as before may be off by the jump. All of this passage are lit.
func (c *Core) leapt(probe string, d *dark, jumps []scene.Jump, rest, lit []Reading) {
	was, known := d.Mean(), d.known()
	rest = withoutFar(rest, c.noiseAt(d.probe).sigmaUV())
	at := rest[len(rest)-1].At
	now := meanXYZ(rest)
	d.Leap(now, len(rest), c.meter(d.probe), at)
	d.mark, d.when, d.looks = d.Mark(), at, append(d.looks, at)
	c.spoilt(probe, d, jumps, was, now, known)
	if c.ownGlow(probe, d, was.Y-now.Y, was.Y) {
		return
	}
	m := Measured{UV: now.UV(), RawUV: now.UV(), Lux: now.Y, RawLux: now.Y, Probe: probe}
	c.enter(Entry{Kind: KindDrift, Reading: &m, Note: fmt.Sprintf("the background at %s jumped %s: %s", atProbe(probe), fromTo(was, now), mayBeOff(sinceRead, c.moved(d.faintest(c), jumps), c.cfg.Plan.Tolerance))})
	harmful := d.harmful(c, jumps)
	blinks := d.blinksBy(c, was, harmful, lit[0].At)
	other := d.beside
	d.jumps, d.beside = append(d.jumps, d.lasting(c.now, was, harmful)...), nil
	for range passings(was, harmful).passed {
		d.shades.pass(c.now)
	}
	switch {
	case blinks:
		if scene.Blinks(d.jumps) {
			other = d.lastTurns()
		}
		c.changesAlways(d, lit, len(jumps), at)
		c.renounce(probe, d, other)
	case !d.switched && scene.Blinks(d.jumps):
		c.switches(probe, d)
	}
	if c.bracketed(d) {
		c.distrust(probe, 0)
	}
}

// spoilt takes in what jumps of the background of a probe, from one light to another since it was last known to be as before, do to what was read there: it may be off by them,
// and a visit that waits is begun anew if they move its lamp.
func (c *Core) spoilt(probe string, d *dark, jumps []scene.Jump, was, now colorcalc.XYZ, known time.Duration) {
	tol := c.cfg.Plan.Tolerance
	for _, u := range c.units {
		worst := c.moved(u.lightOf(), jumps)
		if o := u.outcome; worst > freshLight*tol && o != nil && o.Result == solve.Predicted && u.Info.Probe == probe && u.read >= known {
			u.forget()
		}
		if k := u.claim; k != nil && u.Info.Probe == probe && k.at >= known {
			k.share, k.gap = max(k.share, worst), d.when-known
			if worst > freshLight*tol {
				u.forget()
			}
		}
	}
	if fell := was.Sub(now); c.spillRead[probe] > known && fell.Y > 0 {
		c.spill.mayHideMore(probe, fell)
	}
	c.takesRefBack(probe, jumps)
	c.explained(probe)
	c.notUnlit(probe, known, now.Y-was.Y)
	if since := jumps[0].Since; since > known { // this look, too, began with the dark as it was
		c.closes(probe, known, since)
	}
	for _, l := range c.all() {
		if b := l.waiting(); b != nil && b.unit().Info.Probe == probe && (b.want.read != nil || len(b.unit().given) > 0) && !(b.unit().own.Y > 0 && c.moved(b.unit().own, jumps) <= slightDark*tol) {
			keeps, more := c.keepsSure(b)
			b.anew = !keeps
			if _, ok := b.task.(renewed); ok {
				c.crossed(b.unit(), d, !more)
			}
		}
	}
}

// littleOff is the part of the tolerance that hardly any claim falls for: it is not said that anything is read again.
const littleOff = 0.25

const sinceRead = "readings since it was last read"

// What a light moves readings by is shown between these, u'v': less has no digit, and from one white to another it is never farther.
const (
	leastShown = 0.00005
	mostShown  = 0.1
)

// mayBeOff says what a change of the background does to readings, which are named, by how far it moves the faintest lamp.
func mayBeOff(readings string, by, tol float64) string {
	switch {
	case by == 0:
		return "no fixture was read there yet"
	case by < leastShown:
		return readings + " are hardly off by it"
	case by <= littleOff*tol:
		return fmt.Sprintf("%s may be off by up to %.4f, which is counted in with their doubt", readings, by)
	case by > mostShown:
		return readings + " may be of that light more than of a fixture, and fixtures they decided are read again"
	}
	return fmt.Sprintf("%s may be off by up to %.4f, and fixtures they decided are read again", readings, by)
}

// renounce takes back what is claimed of lamps read by a probe beside a light that blinks, if it moves them too far; for the others its share
// goes into their doubt. What was claimed before that light began stays as it is. Other probes are watched for that light, by the jumps that told of it.
func (c *Core) renounce(probe string, d *dark, light []scene.Jump) {
	d.blinks = d.blinksWords(c, atProbe(probe))
	c.enter(Entry{Kind: KindDrift, Note: d.blinks})
	for _, u := range c.units {
		switch {
		case u.Info.Probe != probe || u.outcome == nil || u.outcome.Result == solve.Held || !c.ours(u): // what a lamp is held for is no claim
		case u.claim != nil && d.calmAt(u.claim):
		case d.harms(c, u):
			c.unclaimed(u, d.blinks, KindVerify)
		case u.claim != nil:
			u.claim.takesOff(d.Mean(), c.shareOf(d, u.claim.light, c.now))
		}
		// Short passages may have met it out each time at another probe that sees it too.
		if o := c.background[u.Info.Probe]; o != nil && o != d && o.blinks == "" && !o.besideBlinks() {
			o.wanted, o.beside = true, slices.Clone(light)
		}
	}
}

// blinksWords says what a light beside a probe does, and what to do about it.
func (d *dark) blinksWords(c *Core, at string) string {
	if d.swung > 0 {
		return fmt.Sprintf("the light beside %s swings, by about %.2f lux within seconds: too much beside what these fixtures give there; nothing can be claimed %s: keep that light off the meter, or raise their level",
			at, d.swung, d.whomWords(c))
	}
	last, how := d.jumps[len(d.jumps)-1], "as a light that blinks at another probe"
	if scene.Blinks(d.jumps) {
		how = d.timesWords()
	}
	return fmt.Sprintf("a light beside %s blinks: it changed the background by about %.2f lux %s; nothing can be claimed %s: put that light out or screen the meter from it",
		at, max(last.By.Y, -last.By.Y), how, d.whomWords(c))
}

// unwatched are passages at the probes still to be watched, since a light blinks at another one.
func (c *Core) unwatched() (all []task) {
	for _, u := range c.units {
		d := c.background[u.Info.Probe]
		if d == nil || !d.besideBlinks() || d.blinks != "" || u.claim == nil || c.mute(u.Info.Probe) {
			continue
		}
		same := func(t task) bool { return t.(*backgrounds).only == u.Info.Probe }
		if !slices.ContainsFunc(all, same) {
			all = append(all, &backgrounds{only: u.Info.Probe})
		}
	}
	return all
}

// unclaimed records that nothing is claimed of a unit, because of a light beside its probe.
func (c *Core) unclaimed(u *unit, why string, kind Kind) {
	u.claim = nil
	u.outcome = c.outcomeOf(u, solve.Decision{Outcome: solve.Unsettled, Reason: why})
	c.enter(Entry{Kind: kind, Fixture: u.Info.Name, Outcome: u.outcome})
}

// blinking is why nothing can be claimed of a unit, as a light beside its probe goes on and off too fast; "" for nothing.
func (c *Core) blinking(u *unit) string {
	if d := c.background[u.Info.Probe]; d != nil && d.blinks != "" && d.harms(c, u) {
		return d.blinks
	}
	return u.outrun
}

// doubt asks for the dark at a unit's probe before anything else is read there, since its readings are
// odd. It tells whether the background could be the reason. Where the unit is to be held for them it could be in any case:
// somebody's light may have come to a room that was dark.
func (c *Core) doubt(u *unit, held bool) bool {
	d := c.background[u.Info.Probe]
	if d == nil || c.cfg.Plan.KeepLit || c.cfg.Plan.HandMeter || c.now-d.when <= leastPause {
		return false
	}
	if !held && (!(d.light.Y > 0) || d.Mean().Y < seenShare*d.light.Y) {
		return false
	}
	d.wanted = true
	return true
}

// unlike tells whether a unit's last reading differs from what was claimed of it where it
// stands, by more than its noise, and by no more than the background could have done.
func (c *Core) unlike(u *unit) bool {
	k, last, d := u.claim, u.tally.last, c.background[u.Info.Probe]
	if k == nil || last == nil || d == nil || !(k.light.Y > 0) {
		return false
	}
	far, lux := jumpHarm*c.cfg.Plan.Tolerance+3*last.SD, 0.0 // by which a light that changes all the time may have moved it
	if d.blinks != "" {
		far, lux = far+2*colorcalc.Radius95*d.flickers(c.ref, k.light), d.sways()
	}
	if last.UV.Dist(k.uv) > far {
		return true
	}
	if u.early || k.early {
		return false // the level is not known as well
	}
	level := max(0, math.Abs(last.Lux-k.light.Y)-lux)
	return level > unlikeness*k.light.Y && level < 3*d.Mean().Y
}
