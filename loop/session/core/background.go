package core

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/profiles/printable"
)

// Figures of reading a dark probe.
const (
	firstDark  = 5   // readings at first: one wrong among them is outvoted
	slightDark = 0.1 // of the tolerance: a dark that moves no lamp by more is as it was
	littleDark = 0.2 // a background that moves none by more may come and go between the rounds: the end finds it
	nextDark   = 3   // between the rounds and at the end
	mostDark   = 8   // readings of one passage; up to mostReference where more of them pay
	darkAgain  = 0.3 // of the tolerance: a share of the background's doubt that asks for the dark again
	darkEnough = 0.7 // of that share: enough for now
	// Readings of fixtures between two passages of a probe: the way to the dark and back takes as long as some
	// ten, and a background that wanders fast asks for the next passage before it is made.
	litReadings = 4
)

// backgrounds takes the light of lamps away and reads each dark probe. The first time
// it reads all that units are read by; a probe without a level, or one too dark for its
// meter, has no background to take off: that is said, not guessed.
type backgrounds struct {
	only    string // this probe alone; "" for all
	round   bool   // after a round of visits: read each probe although nothing is asked of it
	began   bool
	probes  []string
	settled time.Duration
	got     []Reading // of probes[0]
	said    bool      // that this takes long
}

func (b *backgrounds) unit() *unit { return nil }

func (b *backgrounds) step(c *Core, in input) want {
	switch {
	case in.refused != "":
		return want{fail: fmt.Errorf("fading out for the background: %s", in.refused)}
	case in.arrived != nil:
		b.settled = c.darkBy(b.only, in.arrived.At)
		if t := c.cfg.Plan.Target; t.Reference == "" {
			c.presetSoon(t.UV)
		}
	case in.reading != nil:
		b.got = append(b.got, in.reading.inTheDark())
		b.takesLong(c)
	case !b.began:
		b.began = true
		judged := map[string]bool{}
		for _, u := range c.units {
			probe := u.Info.Probe
			if u.Head < 0 || b.only != "" && probe != b.only || judged[probe] {
				continue
			}
			judged[probe] = true
			if d := c.background[probe]; d == nil && b.round || d != nil && d.blinks != "" && !d.matters(c) {
				continue
			}
			b.probes = append(b.probes, probe)
		}
		if len(b.probes) == 0 {
			return want{next: true}
		}
		return want{dark: true}
	}
	for len(b.probes) > 0 {
		probe := b.probes[0]
		known := c.background[probe]
		if !b.enough(c, known) {
			return want{read: &Ask{Probe: probe, After: b.settled, Dark: true}}
		}
		rest, _ := c.standing(probe, known, b.got)
		if len(rest) < len(b.got) {
			c.glowed(probe, b.got)
		}
		if known == nil {
			c.firstBackground(probe, b.got, rest)
		} else {
			c.nextBackground(probe, known, b.got, rest)
		}
		b.got, b.said, b.probes = nil, false, b.probes[1:]
	}
	return want{next: true}
}

// darkBy is when the light of lamps is gone at a probe, or at all of them for "", the last of which were put out at a moment: each takes as long to go as to come,
// and one that has been out for twice as long is gone.
func (c *Core) darkBy(probe string, last time.Duration) time.Duration {
	by := last
	for _, u := range c.units {
		if u.Head >= 0 && (probe == "" || u.Info.Probe == probe) {
			by = max(by, min(last, u.outAt+u.settle)+u.settle)
		}
	}
	return by
}

// takesLong says so where a probe is watched for long: the fixtures are out meanwhile, and nobody knows why.
func (b *backgrounds) takesLong(c *Core) {
	if b.said || c.cfg.Plan.HandMeter || c.background[b.probes[0]] == nil || c.now-b.got[0].At < sayWatch {
		return
	}
	b.said = true
	c.enter(Entry{Kind: KindDrift, Note: fmt.Sprintf("the light beside %s changes while the fixtures are out: it is watched, for some %s at the most, to see whether it goes on and off or moves",
		atProbe(b.probes[0]), printable.Span(longWatch))})
}

// enough tells whether the probe has been read. One reading that tells no level is confirmed by a second; so is one that is too dark, where
// no light was there before. Where a person reads the meter the first says so: they see whether the room is dark, and whether their meter tells levels.
func (b *backgrounds) enough(c *Core, known *dark) bool {
	got, more := c.standing(b.probes[0], known, b.got)
	n := len(got)
	bare := func(r Reading) bool { return !r.HasY || r.black && (known == nil || known.black) }
	if c.cfg.Plan.HandMeter && n == 1 && bare(got[0]) {
		return true
	}
	if n < 2 || more {
		return false
	}
	if bare(got[n-1]) && bare(got[n-2]) {
		return true
	}
	if known != nil && known.blinks != "" {
		return known.lookedOn(c, got)
	}
	if known != nil && (known.watching(c, got) || !known.seen(c, got)) {
		return false
	}
	if n >= mostDark {
		return known == nil || n >= mostReference || !known.pays(c, got)
	}
	if known == nil {
		return n >= firstDark
	}
	return (n >= nextDark || c.asBefore(known, got)) && known.after(c, got) <= darkEnough*darkAgain*c.cfg.Plan.Tolerance
}

// asBefore tells whether all readings of the dark that is known are as it was, but for what is nothing to speak of beside the light of the lamps: two
// of them are enough then. Lamps that may glow on for longer than these take leave it open.
func (c *Core) asBefore(known *dark, got []Reading) bool {
	return c.slowest() <= mostAnswer && !slices.ContainsFunc(got, func(r Reading) bool {
		return !r.tellsLevel() || !c.slight(known, r.XYZ().Sub(known.Mean()), slightDark)
	})
}

// slight tells whether a change of the background of a probe would move none of its lamps, as far as they were read, by more than a share of the tolerance.
func (c *Core) slight(d *dark, change colorcalc.XYZ, most float64) bool {
	least := d.light
	for _, u := range c.units {
		if c.background[u.Info.Probe] == d && u.own.Y > 0 && u.own.Y < least.Y {
			least = u.own
		}
	}
	return least.Y > 0 && c.ref != nil && effect(c.ref, least, change) <= most*c.cfg.Plan.Tolerance
}

// darkRoom tells whether all of the background at every probe is so little that it may come and go without harm, and that nothing
// but it shines at them: then it is not read between the rounds, but at the end alone.
func (c *Core) darkRoom() bool {
	if c.moving != nil || len(c.background) == 0 {
		return false
	}
	for _, u := range c.units {
		d := c.background[u.Info.Probe]
		if u.Head >= 0 && c.ours(u) && (d == nil || d.wanted || d.besideBlinks() || d.blinks != "" || len(d.jumps) > 0 || !c.slight(d, d.Mean(), littleDark)) {
			return false
		}
	}
	return true
}

// dark is the background at one probe.
type dark struct {
	*scene.Background
	probe    string
	first    colorcalc.XYZ   // by the first passage
	follows  int             // looks at it by which a verification saw that the probe follows what is lit
	mark     scene.Mark      // of the last passage
	light    colorcalc.XYZ   // of the lamp read there last: what the background's doubt is held against
	when     time.Duration   // of the last passage
	looks    []time.Duration // of all passages
	jumps    []scene.Jump    // that mattered
	changes  changing        // what was seen of a light that changes all the time
	blinks   string          // a light beside the probe goes on and off, in words; "" for none
	switched bool            // it goes on and off as well, but stands long enough to read a lamp in between
	outrun   int             // lamps in a row for which it does so too often
	wanted   bool            // readings of a lamp are odd: the dark is to be read before more of them
	passedBy time.Duration   // when the level of a lamp told last that a light may have come and gone between two passages; 0: never
	swung    float64         // by how many lux the light there swung while it was watched last; 0: it did not, or was read briefly
	swings   bool            // it was seen to swing
	black    bool            // by the last passage it is too dark for the meter
	witness  witness         // what is read of it beside lamps of other probes
	vain     bool            // looks at it did not help the last visit there that had many
	beside   []scene.Jump    // of a light that blinks at another probe: this one is to be watched for it; none: it is not
	shades   passers         // in the light of the room,
	beams    passers         // and in the beam of a lamp
	least    float64         // lux, the least that was read of it,
	most     float64         // and the most
	// looked is the count of fixtures' readings at the last passage; -1 at the first.
	looked int
}

// after is the doubt that readings of a passage would leave to the lamp read last.
func (d *dark) after(c *Core, got []Reading) float64 {
	if !(d.light.Y > 0) {
		return 0
	}
	_, rest, _ := d.scan(c, got)
	z, at := timed(withoutFar(rest, c.noiseAt(d.probe).sigmaUV()))
	return d.After(z, c.meter(d.probe), at, d.light, c.now)
}

// pays tells whether a passage is to go on since one more reading of it saves more than one of the lamp read there last: at the moment when that is
// read again, for what a light that wanders is known by then no reading betters. Where no number of readings would land the lamp as the
// background is known now, it goes on if the most that a passage may have would help. For a lamp too weak to be matched there it does not.
func (d *dark) pays(c *Core, got []Reading) bool {
	if c.cfg.Plan.HandMeter || !(d.light.Y > 0) {
		return false
	}
	_, rest, _ := d.scan(c, got)
	z, at := timed(withoutFar(rest, c.noiseAt(d.probe).sigmaUV()))
	n := len(z)
	if n < 2 {
		return false
	}
	pace := (at[n-1] - at[0]) / time.Duration(n-1)
	_, ref := c.target()
	with := func(more int) float64 {
		for i := n; i < n+more; i++ {
			z, at = append(z[:i], z[n-1]), append(at[:i], at[n-1]+time.Duration(i-n+1)*pace)
		}
		share := d.After(z[:n+more], c.meter(d.probe), at[:n+more], d.light, c.now+time.Duration(more)*pace+afterLook)
		return c.pointBeside(d, d.light.Y, math.Hypot(ref, share))
	}
	now, next := with(0), with(1)
	if math.IsInf(now, 1) {
		next = with(mostReference - len(got))
	}
	return next <= taughtBudgets*mostBudget && now-next >= 1
}

// timed are the lights of readings and their moments.
func timed(got []Reading) (z []colorcalc.XYZ, at []time.Duration) {
	for _, r := range got {
		z, at = append(z, r.XYZ()), append(at, r.At)
	}
	return z, at
}

// meter is the noise of one reading at a probe, as far as it is known.
func (c *Core) meter(probe string) scene.Noise {
	n := c.noiseAt(probe)
	return scene.Noise{UV: n.sigmaUV(), LnY: n.sigmaLnY()}
}

// firstBackground takes the first readings of a dark probe in: all of them, and those in which no lamp glows.
func (c *Core) firstBackground(probe string, all, got []Reading) {
	c.enterDark(probe, all)
	c.coloursInTheDark(probe, false)
	lit := lighted(got)
	c.keepDark(probe, got)
	if len(lit) <= len(got)/2 {
		c.enter(Entry{Kind: KindBackground, Note: fmt.Sprintf("%s tells no level: the background stays in the readings", atProbe(probe))})
		return
	}
	lit = withoutFar(lit, c.noiseAt(probe).sigmaUV())
	mean := meanXYZ(lit)
	at := lit[len(lit)-1].At
	b := scene.NewBackground(mean, len(lit), c.meter(probe), at)
	d := &dark{Background: b, probe: probe, first: mean, mark: b.Mark(), when: at, looks: []time.Duration{at}, looked: -1, black: black(lit)}
	d.wanders(c, lit)
	d.follow(c, lit)
	d.saw(lit)
	c.background[probe] = d
	if d.black {
		c.enter(Entry{Kind: KindBackground, Note: fmt.Sprintf("it is too dark for %s with the fixtures out: nothing is taken off", atProbe(probe))})
		return
	}
	m := Measured{UV: mean.UV(), RawUV: mean.UV(), Lux: mean.Y, RawLux: mean.Y, Probe: probe}
	c.enter(Entry{Kind: KindBackground, Reading: &m, Note: fmt.Sprintf("background at %s: %.2f lux, mean of %s, taken off every reading", atProbe(probe), mean.Y, printable.Count(len(lit), "reading")) + c.leastLight(probe, mean)})
}

// nextBackground takes a later passage in, all of its readings and those in which no lamp glows, and looks again at what was claimed since the
// last one.
func (c *Core) nextBackground(probe string, d *dark, all, got []Reading) {
	d.looked, d.wanted = c.looksAt(probe), false
	defer func() { d.witness.differ, d.witness.got = nil, nil }()
	c.enterDark(probe, all)
	lit := lighted(got)
	d.saw(lit)
	if d.blinks != "" {
		defer c.coloursInTheDark(probe, false)
		c.looksOn(probe, d, lit)
		return
	}
	jumps, rest, _ := d.scan(c, lit)
	defer c.coloursInTheDark(probe, len(jumps) == 1 && jumps[0].At <= lit[0].At)
	if is, _ := d.shaded(c, lit, jumps, rest); is {
		jumps, lit = nil, rest
		d.shades.pass(c.now)
	}
	d.wanders(c, lit)
	if len(jumps) > 0 && (d.jumpsSwing(c, lit, d.harmful(c, jumps)) || d.sweeps(c, lit, jumps)) {
		jumps, rest, d.jumps = nil, end(lit), nil
	}
	if len(jumps) > 0 {
		for _, j := range jumps { // a leap in the passage is no part of how it goes
			d.Jumped(j.By)
		}
		d.follow(c, rest)
		d.black = black(rest)
		d.witness.stands = d.standsStill(c, lit, rest)
		c.leapt(probe, d, jumps, rest, lit)
		return
	}
	d.follow(c, lit)
	c.strayed = c.strayed || len(d.witness.differ) > 0
	d.beside, d.black = nil, black(lit)
	if len(rest) > 0 {
		lit = rest // one alone that lies far off is the glow of a lamp that went out, or an outlier
	}
	lit = withoutFar(lit, c.noiseAt(probe).sigmaUV())
	if len(lit) == 0 {
		c.lostBackground(probe)
		return
	}
	was, before := d.Mean(), d.mark
	z, at := timed(lit)
	d.Passage(z, c.meter(probe), at)
	d.mark, d.when = d.Mark(), lit[len(lit)-1].At
	d.looks = append(d.looks, d.when)
	now := d.Mean()
	for _, u := range c.units {
		if u.claim != nil && u.Info.Probe == probe {
			u.claim.revise(d, before)
		}
	}
	c.smooth(probe, d, before)
	c.closes(probe, before.At(), at[0])
	c.unexplained(probe, d, before.At())
	m := Measured{UV: now.UV(), RawUV: now.UV(), Lux: now.Y, RawLux: now.Y, Probe: probe}
	e := Entry{Kind: KindDrift, Reading: &m}
	if moved := effect(c.ref, d.light, now.Sub(was)); moved > c.cfg.Plan.Tolerance/2 {
		e.Note = fmt.Sprintf("the background at %s went %s: %s", atProbe(probe), fromTo(was, now), mayBeOff("readings in between", moved, c.cfg.Plan.Tolerance))
	}
	c.enter(e)
}

// lostBackground is said of a probe that had a background and tells none any more. Lamps
// that it was taken off are read again.
func (c *Core) lostBackground(probe string) {
	delete(c.background, probe)
	for _, u := range c.units {
		if u.claim != nil && u.Info.Probe == probe {
			u.claim.share = 1
		}
	}
	c.enter(Entry{Kind: KindDrift, Note: fmt.Sprintf("%s tells no level with the fixtures out any more: from here on nothing is taken off, and fixtures read since are read again", atProbe(probe))})
}

// lighted are the readings that have a level.
func lighted(got []Reading) (lit []Reading) {
	for _, r := range got {
		if r.tellsLevel() {
			lit = append(lit, r)
		}
	}
	return lit
}

// enterDark puts every reading of a dark probe on record.
func (c *Core) enterDark(probe string, got []Reading) {
	for _, r := range got {
		m := Measured{UV: r.UV, RawUV: r.UV, Lux: r.Y, RawLux: r.Y, Probe: probe, MeterSeq: r.Seq, IntegrationS: r.Integration.Seconds()}
		c.enter(Entry{Kind: KindBackground, Reading: &m})
	}
}

// fromTo says how a background has changed; its colour where the level as it is shown has not; that it is back where neither has.
func fromTo(was, now colorcalc.XYZ) string {
	a, b := fmt.Sprintf("%.2f", was.Y), fmt.Sprintf("%.2f", now.Y)
	if a == b {
		by := was.UV().Dist(now.UV())
		if by < leastShown {
			return fmt.Sprintf("for a while, and is back at %s lux", b)
		}
		return fmt.Sprintf("by %.4f in its colour, at %s lux", by, b)
	}
	return fmt.Sprintf("from %s to %s lux", a, b)
}

// effect is how far an unnoticed change of background moves the colour of a light.
func effect(ref *Reference, light, change colorcalc.XYZ) float64 {
	if ref == nil || !(light.Y > 0) {
		return 0
	}
	return ref.UV.XYZ(light.Y).Add(change).UV().Dist(ref.UV)
}

// withoutFar leaves out readings whose level lies far from the median: more than five
// robust standard deviations, and more than a hundredth of the median, which no drift of
// that size matters for. Of the others it leaves out those of a far colour.
func withoutFar(got []Reading, sigma float64) []Reading {
	if len(got) == 0 {
		return nil
	}
	level := make([]float64, len(got))
	for i, r := range got {
		level[i] = r.Y
	}
	kept := pick(got, nearMiddle(level, 0.01*median(level)))
	uv := make([]colorcalc.UV, len(kept))
	for i, r := range kept {
		uv[i] = r.UV
	}
	return pick(kept, nearMedian(uv, sigma))
}

func meanXYZ(got []Reading) colorcalc.XYZ {
	z, _ := timed(got)
	return scene.MeanOf(z)
}
