package core

import (
	"fmt"
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/solve"
)

// When a lamp answers, a reading shows that is under way while it does: its colour and its level lie between the old light and the new one.
// Such a reading is over before the one that the visit waits for may begin, so it costs nothing. It counts for nothing else.
//
// A step of a lamp that is lit, far beyond the meter's noise, shows it by how far the colour had gone; a fade in from the dark, beside which no other
// lamp goes out, by how much of the level was wanting. So a dead time that a profile states, which no lamp of the type exceeds, is
// not waited for where they answer sooner, and one that was measured by a fade, whose last tenth of a second is a few hundredths of
// its light, is put right.

const (
	leastGlimpse   = 4                      // times the meter's noise, that a step must go to be worth one
	leastGlimpses  = 2                      // of a type that are believed to answer sooner: one may be a hand over the meter
	enoughGlimpses = 3                      // glimpses of a type
	sureAnswer     = 25 * time.Millisecond  // that glimpses must be sure, standard deviation, to be believed
	unlikeAnswer   = 15 * time.Millisecond  // by which lamps of a type answer apart, as far as nobody knows: output and lamp count in frames
	mostAnswer     = 300 * time.Millisecond // dead times beyond are those of lamps that lag, which have no one moment
	unlikeFade     = 0.1                    // of its way, that a light is not where a straight line has it
	mostGlimpse    = 0.9                    // of a step that may be wanting in a glimpse: of more nobody knows how long it lasts
)

// answer is what glimpses have shown of a type and feed.
type answer struct {
	at, sd        []float64 // of glimpses, s after the arrival of a setting
	least, latest time.Duration
}

// answerOf is what is known of when lamps of a unit's type and feed answer; nothing at first.
func (c *Core) answerOf(u *unit) *answer {
	a := c.answers[u.SettleKey()]
	if a == nil {
		a = new(answer)
		c.answers[u.SettleKey()] = a
	}
	return a
}

// showsAnswer tells whether a reading under way while a unit comes to stand shows when lamps of its type answer.
func (c *Core) showsAnswer(u *unit) bool {
	f := &u.fading
	key := u.SettleKey()
	p := c.paces[u.Info.Probe]
	switch {
	case key == "", u.Head < 0, c.cfg.Work != Match, c.cfg.Plan.HandMeter, c.cfg.Plan.KeepLit, c.watches(u), c.unproven[key], u.Info.Name == c.cfg.Plan.Target.Reference, p == nil, p.untold, p.usual() == 0:
		return false
	}
	a := c.answerOf(u)
	more := u.settle <= mostAnswer && len(a.at) < enoughGlimpses || f.step != (colorcalc.UV{}) && c.showsLag(u)
	if f.step != (colorcalc.UV{}) {
		return more && f.step.Dist(colorcalc.UV{}) >= leastGlimpse*c.noiseAt(u.Info.Probe).sigmaUV()
	}
	return more && u.SettleKnown && f.alone
}

// glimpseFirst has the lane ask for a reading that is under way, before the one that its task wants.
func (l *lane) glimpseFirst(c *Core, a *Ask) *Ask {
	if l.lead == nil || !l.lead.fading.wants {
		return a
	}
	later, now := *a, *a
	l.lead.fading.wants, l.later = false, &later
	now.After = l.lead.at.At - c.paces[a.Probe].usual()
	if lag := c.lagOf(l.lead); lag > 0 {
		now.After = l.lead.at.At + time.Duration(lagGlimpse*float64(lag))
	}
	return &now
}

// glimpsed takes in a reading that was under way while a setting arrived, and has the lane ask for the one that its task wants.
// False: the reading is that one already.
func (l *lane) glimpsed(c *Core, r *Reading) bool {
	later := l.later
	if l.later = nil; later == nil || l.lead == nil || later.Probe != r.Probe || r.At-r.Integration >= later.After {
		return false
	}
	u := l.lead
	if light, w := c.lampLight(r); w == nil && r.Told {
		m := c.measured(r, solve.Reading{UV: light.UV(), Y: light.Y, HasY: r.HasY, SigmaUV: c.noiseAt(r.Probe).sigmaUV()})
		c.enter(Entry{Kind: KindSettle, Fixture: u.Info.Name, Reading: &m, Note: "under way while the setting arrived: it shows when light follows"})
		u.fading.glimpse = &glimpse{uv: light.UV(), y: light.Y, from: r.At - r.Integration, to: r.At}
	}
	if c.holding {
		l.held = &want{read: later}
	} else {
		c.perform(l, want{read: later})
	}
	return true
}

// glimpse is a reading that was under way while a setting arrived: its light, as u'v' and level, and when it was gathered.
type glimpse struct {
	uv       colorcalc.UV
	y        float64
	from, to time.Duration
}

// learnAnswer takes in the first reading of a unit that stands, after one that was under way before.
func (c *Core) learnAnswer(u *unit, net *solve.Reading) {
	f := &u.fading
	k := f.glimpse
	switch f.glimpse = nil; {
	case k == nil:
	case f.step != (colorcalc.UV{}):
		c.learnStep(u, k, net)
	default:
		c.learnRise(u, k, net)
	}
}

// answersWithin keeps how long lamps of a unit's type and feed take at the most.
func (c *Core) answersWithin(u *unit, wait time.Duration, note string) {
	key := u.SettleKey()
	if !u.SettleKnown { // else nothing is kept for the next run: it shows it again for nothing
		c.settlesIn(key, wait)
		delete(c.fleeting, key)
	}
	for _, o := range c.units {
		if o.SettleKey() == key && !c.watches(o) { // a watch begins when nothing is left of the fade
			o.settle = max(wait, o.least)
		}
	}
	c.enter(Entry{Kind: KindSettle, Fixture: u.Info.Name, Note: note})
}

// learnStep takes in what a step shows: when light follows.
func (c *Core) learnStep(u *unit, k *glimpse, net *solve.Reading) {
	if u.tally.last == nil {
		return
	}
	step := colorcalc.UV{U: net.UV.U - u.tally.last.UV.U, V: net.UV.V - u.tally.last.UV.V}
	back := colorcalc.UV{U: net.UV.U - k.uv.U, V: net.UV.V - k.uv.V}
	sigma := c.noiseAt(u.Info.Probe).sigmaUV()
	far := step.Dist(colorcalc.UV{})
	if !(far >= leastGlimpse*sigma) || math.Abs(back.U*step.V-back.V*step.U)/far > 3.5*math.Sqrt2*sigma {
		return // it did not go far, or what was seen lies beside its way
	}
	part, sd := (back.U*step.U+back.V*step.V)/(far*far), math.Sqrt2*sigma/far
	if c.showsLag(u) {
		c.lagShowed(u, k, part, sd)
		return
	}
	c.showed(u, k, part, sd)
}

// learnRise takes in what a fade in from the dark shows, in which no other lamp goes out: when the level follows.
func (c *Core) learnRise(u *unit, k *glimpse, net *solve.Reading) {
	if sigma := c.noiseAt(u.Info.Probe).sigmaLnY(); net.HasY && net.Y > 0 && sigma > 0 {
		c.showed(u, k, 1-k.y/net.Y, math.Sqrt2*sigma)
	}
}

// showed takes in which part of the way of a light was still before it in a glimpse, and the standard deviation of that.
func (c *Core) showed(u *unit, k *glimpse, part, sd float64) {
	f, a := &u.fading, c.answerOf(u)
	if part < -3.5*sd || part > mostGlimpse {
		return // other light, or all of it from before
	}
	left := func(after float64) float64 {
		return f.up.leftAt(f.arrived+time.Duration(after*float64(time.Second)), k.from, k.to)
	}
	lo, hi := 0.0, (u.settle + k.to - k.from).Seconds()
	for hi-lo > 1e-3 {
		if mid := (lo + hi) / 2; left(mid) < part {
			lo = mid
		} else {
			hi = mid
		}
	}
	const about = 0.02 // s
	slope := (left(lo+about) - left(max(0, lo-about))) / (lo + about - max(0, lo-about))
	if !(slope > 0) {
		return
	}
	lead := math.Abs((f.arrived - k.from).Seconds() + lo)
	a.at, a.sd = append(a.at, lo), append(a.sd, math.Hypot(sd/slope, unlikeFade*min(lead, f.up.long.Seconds())))
	if least, latest, sure := a.between(); sure && (len(a.at) >= leastGlimpses || latest > u.settle) { // to wait longer does no harm
		a.least, a.latest = least, latest
		c.answersWithin(u, a.latest, fmt.Sprintf("%s: light follows %d to %d ms after the output has arrived", u.Info.Profile, a.least/time.Millisecond, a.latest/time.Millisecond))
	}
}

// between says from all glimpses between which moments lamps of the type answer; false: not sure enough.
func (a *answer) between() (least, latest time.Duration, sure bool) {
	var w, sum float64
	for i, at := range a.at {
		k := 1 / (a.sd[i] * a.sd[i])
		w, sum = w+k, sum+k*at
	}
	mean, sd := sum/w, math.Sqrt(1/w)
	for _, at := range a.at { // lamps that differ by more than the glimpses are unsure of
		sd = max(sd, math.Abs(at-mean)/2)
	}
	if sd > sureAnswer.Seconds() {
		return 0, 0, false
	}
	sd = math.Hypot(sd, unlikeAnswer.Seconds())
	second := func(s float64) time.Duration { return time.Duration(s * float64(time.Second)).Round(time.Millisecond) }
	return max(0, second(mean-2*sd)), max(loop.MinDeadTime, second(mean+2*sd)), true
}
