package core

import (
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// One lamp fades in while the one before it fades out, and both are near one colour. What is left of the old lamp's light at the end of that
// harms a reading of the new one by their difference in colour alone, and how much is left follows from the fade, which is a straight line
// in light. So the first reading after a fade may begin before all light stands, if it is known how long the meter gathers light: what
// should be left is taken off, and what is not sure of that counts as noise of the reading. For a dead time is a bound: a lamp answers at some
// time between the arrival of its setting and that. The same holds of a small step of a lamp that is lit.

// Figures of a reading that begins early.
const (
	earlyShare    = 0.15                    // of the new lamp's light, that may be left of the old one's in the mean of a reading, or be wanting of its own
	earlyPart     = 0.85                    // of a small step, that may be wanting in the mean of a reading
	earlyNoise    = 0.5                     // of the meter's noise, that a reading may get more by it as far as can be foreseen
	earlyFirst    = 1.0                     // the same, of a first visit: it ends on a step that is far less sure than a reading
	earlyDoubt    = 0.2                     // of what is taken off or added, that is not sure beside the moment at which a lamp answers
	earlyColour   = 0.1                     // of the scale of a parameter, that the unit's own colour may have to go while it fades in
	earlyGrain    = 10 * time.Millisecond   // to which it is found how early
	cctWay        = 0.1                     // u'v', the most that the whole scale of a colour temperature or a tint leads through
	emitterWay    = 0.3                     // u'v', about the most that the whole scale of one emitter of several does
	taughtOff     = 0.006                   // u'v', about the most that a unit of a taught type is off at first
	untaughtOff   = 0.012                   // u'v', about what one of an untaught type is off at first
	earlyReadings = 2                       // of a setting that the tolerance may need: with more the first one saves little
	largeStep     = 0.1                     // of the scale of a parameter, from which on a step is a large one to the governor
	largePause    = 1100 * time.Millisecond // that it leaves at the least between two of a head, by the usual limits
	fadeLeast     = 250 * time.Millisecond  // no fade is shorter, whatever the limits
	frame         = 25 * time.Millisecond   // of the output, about: what a step lasts at the least
)

// fading is how a unit came to stand: in an exchange of lamps, or by a step of one that was lit.
type fading struct {
	began   time.Duration // when it was wished for
	gone    []*unit       // an exchange: that go out meanwhile, whether a reading may begin early or not
	out     []*unit       // of them, where a reading may begin early
	alone   bool          // it fades in from the dark
	fadesIn bool          // an exchange, or alone: its own colour goes no far way meanwhile
	paused  time.Duration // that the fade may have waited for the pace of large steps
	arrived time.Duration // when its setting was on the wire
	up      ramp          // of the unit's own light
	down    []ramp        // of those that go out
	way     float64       // of its own colour meanwhile, u'v', about
	step    colorcalc.UV  // a step: how far it is to go, u'v'; 0: an exchange, or not known
	wants   bool          // a reading that is under way is to show when it answers
	glimpse *glimpse      // that was
	stands  time.Duration // when the light stands, by what was known when its setting had arrived
	early   time.Duration // by which the first reading may begin before the light stands; 0: not at all
}

// ramp is a light that goes to where it stays in a straight line: it is there at some time between two moments.
type ramp struct {
	soonest, latest time.Duration
	long            time.Duration
	lag             time.Duration // time constant by which the light follows that line; 0: it does not lag
}

// left is the part of its way that is still before it, in the mean of a reading of the light between two moments, and how far that
// may be off: the standard deviation where it answers at any time between the two; where it lags half of the range that the moment
// at which it answers and a time constant that may be wrong leave; and earlyDoubt of the part on top of either.
func (r ramp) left(from, to time.Duration) (mean, off float64) {
	if doubt := time.Duration(lagDoubt * float64(r.lag)); r.lag > 0 {
		least, most := lagMean(from, to, r.soonest, r.long, r.lag-doubt), lagMean(from, to, r.latest, r.long, r.lag+doubt)
		mean, off = (least+most)/2, (most-least)/2
	} else {
		least, most := r.leftAt(r.soonest, from, to), r.leftAt(r.latest, from, to)
		mean, off = (least+most)/2, (most-least)/math.Sqrt(12) // it answers at any time between the two
	}
	return mean, off + earlyDoubt*mean
}

// leftAt is the mean between two moments of what is left of the way of a light that ends at a moment.
func (r ramp) leftAt(end, from, to time.Duration) float64 {
	sum := func(lead float64) float64 { // from a moment so long before the end on, times seconds
		switch long := r.long.Seconds(); {
		case lead <= 0:
			return 0
		case lead < long:
			return lead * lead / (2 * long)
		default:
			return lead - long/2
		}
	}
	return (sum((end - from).Seconds()) - sum((end - to).Seconds())) / (to - from).Seconds()
}

// exchanged notes that a unit fades in from dark to a drive while others go out. A unit whose emitters fade each by itself passes through
// other colours on the way, and near its end too where they do not all follow at once or not by the curve that is stated: nothing is said of it.
func (c *Core) exchanged(u *unit, drive solve.Drive, out []*unit) {
	u.fading = fading{began: c.now, alone: len(out) == 0, gone: out}
	by := u.recolours(drive)
	way := by * cctWay
	switch u.Spec.Kind {
	case solve.CCT:
	case solve.Emitters:
		way = by * emitterWay
	default: // a small part of x or of a hue leads far
		if by > 0 {
			return
		}
	}
	if by > earlyColour || slices.ContainsFunc(out, func(o *unit) bool { return o.Spec.Dimmer == nil || !(o.own.Y > 0) || o.tally.last == nil }) {
		return
	}
	u.fading.out, u.fading.way, u.fading.fadesIn = out, way, true
}

// recolours is the largest part of its scale by which a parameter beside the dimmer is to move from where a unit stands to a drive. 1: it has
// no dimmer, or nobody knows where it stands.
func (u *unit) recolours(drive solve.Drive) float64 {
	if u.Spec.Dimmer == nil {
		return 1
	}
	return u.goes(drive, u.Spec.Dimmer.Channel)
}

// goes is the same of all parameters but one; of all of them for -1.
func (u *unit) goes(drive solve.Drive, but int) (most float64) {
	if u.adrift || len(u.at.Sent) != len(drive) {
		return 1
	}
	for i, code := range drive {
		if i != but {
			most = max(most, math.Abs(u.Spec.Drive(i, code)-u.Spec.Drive(i, u.at.Sent[i])))
		}
	}
	return most
}

// stoodAfter takes in when a unit stands, and when its own light has arrived, and says how early its first reading may begin.
func (c *Core) stoodAfter(u *unit, own time.Duration) {
	f := &u.fading
	p := c.paces[u.Info.Probe]
	f.early, f.arrived = 0, own
	if p == nil || p.usual() == 0 {
		return
	}
	f.up = c.upOf(u, own, max(own-f.began-f.paused, frame))
	f.down = f.down[:0]
	for _, o := range f.out {
		paused := max(0, largePause-(f.began-o.large))
		f.down = append(f.down, c.upOf(o, o.at.At, max(o.at.At-f.began-paused, fadeLeast)))
	}
	if f.wants = c.showsAnswer(u); f.wants || c.auditDue(u) || f.nothingKnown() || p.window == 0 || !c.mayBeEarly(u) {
		return
	}
	f.stands = c.standsAt(u)
	grain, most := earlyGrain, f.stands-u.at.At+p.window
	if f.up.lag > 0 || slices.ContainsFunc(f.down, func(r ramp) bool { return r.lag > 0 }) {
		grain, most = lagGrain, f.stands-u.at.At
	}
	for early := grain; early < most; early += grain {
		if !c.harmless(u, f.stands-early, f.stands-early+p.window) {
			break
		}
		f.early = early
	}
}

// nothingKnown tells whether nobody knows what is on its way: neither a step nor a fade in beside which others go out. Of a fade from the dark
// alone a reading may begin early if the light lags.
func (f *fading) nothingKnown() bool {
	return f.step == (colorcalc.UV{}) && (!f.fadesIn || len(f.out) == 0 && f.up.lag == 0)
}

// standsAt is when the light at a unit's probe stands.
func (c *Core) standsAt(u *unit) time.Duration {
	stands := u.at.At + u.settle
	if c.unproven[u.SettleKey()] { // how soon it answers is looked at in what is read first
		return stands
	}
	for _, o := range u.fading.gone { // a slow lamp glows on after a fast one stands
		if !o.bright {
			stands = max(stands, o.at.At+o.settle)
		}
	}
	return stands
}

// soonestOf is how soon after the arrival of a setting the light of a unit may follow.
func (c *Core) soonestOf(u *unit) time.Duration { return min(c.answerOf(u).least, u.settle) }

// harmless tells whether a reading between two moments should be hardly worse for what moves meanwhile.
func (c *Core) harmless(u *unit, from, to time.Duration) bool {
	f, part := &u.fading, earlyNoise
	if u.outcome == nil && f.fadesIn {
		part = earlyFirst
	}
	most := part * c.noiseAt(u.Info.Probe).sigmaUV()
	up, off := f.up.left(from, to)
	if !f.fadesIn {
		return up+off <= earlyPart && off*max(f.step.Dist(colorcalc.UV{}), c.cfg.Plan.Tolerance/2) <= most
	}
	aim, _ := c.target()
	apart := 1.5 * c.cfg.Plan.Tolerance
	switch {
	case u.outcome != nil:
	case u.unread != nil:
		apart = taughtOff
	default:
		apart = untaughtOff
	}
	doubt := up * f.way
	for i, o := range f.out {
		share, off := f.down[i].left(from, to)
		switch {
		case u.own.Y > 0:
			brighter := max(1, o.own.Y/u.own.Y)
			share, off = share*brighter, off*brighter
		case o.Type != u.Type || o.Level != u.Level: // nobody knows how bright it will be
			return false
		}
		if share+off > earlyShare {
			return false
		}
		doubt += off * (apart + c.goesOutAs(o).Dist(aim))
	}
	return up+off <= earlyShare && doubt <= most
}

// goesOutAs is the colour of a unit while it goes out: it takes its last step meanwhile.
func (c *Core) goesOutAs(o *unit) colorcalc.UV {
	if o.tally.last == nil || o.outcome != nil && o.outcome.Result == solve.Predicted {
		aim, _ := c.target()
		return aim
	}
	return o.tally.last.UV
}

// mayBeEarly tells whether the reading of a unit may: nothing but its colour is asked for; how long its light takes is known; nobody
// looks at what its light does in time; and after a step, its type is taught or it is read for the second time, so that the step leads
// where it was foretold. Lamps that are known to lag are excepted from
// the last: their steps are read early, by whatever foretold, once steps of their type were seen to lag as the level does.
func (c *Core) mayBeEarly(u *unit) bool {
	key := u.SettleKey()
	_, measured := c.deadTimes[key]
	switch {
	case c.cfg.Work != Match || c.commonLux != 0 || c.cfg.Plan.Common != NoCommon || c.cfg.Plan.HandMeter || c.cfg.Plan.KeepLit:
		return false
	case !u.fading.fadesIn && u.unread == nil && u.outcome == nil && u.fading.up.lag == 0, u.fading.step != (colorcalc.UV{}) && c.lagOf(u) > c.stepLag(u), c.watches(u), !u.SettleKnown && !measured, c.unproven[key], c.fleeting[key]:
		return false
	}
	return readingsBeside(0, c.noiseAt(u.Info.Probe).sigmaUV(), c.cfg.Plan.Tolerance) <= earlyReadings
}

// soonest is when a reading of a unit where it stands may begin, and not before a moment.
func (c *Core) soonest(u *unit, after time.Duration) time.Duration {
	f, stands := &u.fading, c.standsAt(u)
	switch {
	case f.early > 0 && after <= f.stands:
		return f.stands - f.early
	case after <= stands:
		return stands
	}
	return after
}

// unsettled takes off a reading what should be left in it of the light before, and adds to its noise what is not sure of that. It tells
// whether the reading began early.
func (c *Core) unsettled(u *unit, r *Reading, net *solve.Reading) bool {
	f := &u.fading
	from := r.At - r.Integration
	if f.early == 0 || from >= f.stands {
		return false
	}
	f.early = 0
	up, off := f.up.left(from, r.At)
	if !f.fadesIn {
		net.UV.U += up * f.step.U
		net.UV.V += up * f.step.V
		net.SigmaUV = math.Hypot(net.SigmaUV, off*f.step.Dist(colorcalc.UV{}))
		if l := u.tally.last; l != nil && net.HasY && net.Y > 0 && l.Lux > 0 {
			net.SigmaLnY = math.Hypot(net.SigmaLnY, (up+off)*math.Log(l.Lux/net.Y))
		}
		return true
	}
	light, bare := net.UV.XYZ(net.Y), !net.HasY || !(net.Y > 0)
	type remnant struct { // of a lamp that went out
		colour  colorcalc.UV
		y, part float64
	}
	var left []remnant
	for i, o := range f.out {
		share, off := f.down[i].left(from, r.At)
		colour := c.goesOutAs(o)
		if bare || o.Info.Probe != u.Info.Probe { // nobody knows how much of it comes here
			share, off = 0, share+off
		}
		light = light.Sub(colour.XYZ(share * o.own.Y))
		left = append(left, remnant{colour, o.own.Y, off})
	}
	sum := 0.0
	rest := light.Y
	if light = light.Scale(1 / max(1-up, 0.1)); !bare && light.XY().Valid() {
		more := max(1, net.Y/rest) // what is taken off takes none of the meter's noise away
		net.SigmaUV, net.SigmaLnY = more*net.SigmaUV, more*net.SigmaLnY
		net.UV, net.Y = light.UV(), light.Y
	} else if !bare { // the lamp before was brighter than all that was read
		sum += taughtOff
	}
	sum += up * f.way
	level := off
	for _, o := range left {
		part := o.part
		if !bare {
			part *= o.y / net.Y
		}
		sum += part * (o.colour.Dist(net.UV) + c.cfg.Plan.Tolerance)
		level += part
	}
	net.SigmaUV, net.SigmaLnY = math.Hypot(net.SigmaUV, sum), math.Hypot(net.SigmaLnY, level)
	return true
}
