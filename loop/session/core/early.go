package core

import (
	"math"
	"slices"
	"time"

	"trueup/loop/solve"
)

// One lamp fades in while the one before it fades out, and both are near one colour. What is left of the old lamp's light at the end of that
// harms a reading of the new one by their difference in colour alone. So the first reading after a fade may begin a little before
// all light stands, if it is known how long the meter gathers light, and what may be left counts as noise of that reading.

// Figures of a reading that begins early.
const (
	earlyShare    = 0.05                    // of the new lamp's light, that may be left of the old one's in the mean of a reading
	earlyStep     = 0.4                     // of the meter's noise, that may be left of a step in the mean of a reading
	earlyColour   = 0.1                     // of the scale of a parameter, that the unit's own colour may have to go while it fades in
	cctWay        = 0.1                     // u'v', the most that the whole scale of a colour temperature or a tint leads through
	emitterWay    = 0.3                     // u'v', about the most that the whole scale of one emitter of several does
	earlyReadings = 2                       // of a setting that the tolerance may need: with more the first one saves little
	largeStep     = 0.1                     // of the scale of a parameter, from which on a step is a large one to the governor
	largePause    = 1100 * time.Millisecond // that it leaves at the least between two of a head, by the usual limits
	fadeLeast     = 250 * time.Millisecond  // no fade is shorter, whatever the limits
)

// fading is how a unit came to stand: in an exchange of lamps, or by a step of one that was lit.
type fading struct {
	began time.Duration // when it was wished for
	out   []*unit       // an exchange: that go out meanwhile
	long  time.Duration // from then until it was on the wire, less what it may have waited for the pace of large steps
	way   float64       // of its own colour meanwhile, u'v', about
	step  float64       // a step: how far it is to go, u'v'; 0: an exchange, or not known
	early time.Duration // by which the first reading may begin before the light stands; 0: not at all
}

// exchanged notes that a unit fades in from dark to a drive while others go out. A unit whose emitters fade each by itself passes through
// other colours on the way, and near its end too where they do not all follow at once or not by the curve that is stated: nothing is said of it.
func (c *Core) exchanged(u *unit, drive solve.Drive, out []*unit) {
	u.fading = fading{began: c.now}
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
	u.fading.out, u.fading.way = out, way
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

// stoodAfter takes in when a unit stands, and says how early its first reading may begin.
func (c *Core) stoodAfter(u *unit) {
	f := &u.fading
	p := c.paces[u.Info.Probe]
	f.early, f.long = 0, u.at.At-f.began
	if p == nil || p.window == 0 || !c.mayBeEarly(u) {
		return
	}
	if f.step > 0 {
		f.early = min(u.settle, time.Duration(earlyStep*c.noise.sigmaUV()/max(f.step, c.cfg.Plan.Tolerance)*float64(p.window)))
		return
	}
	if f.out == nil {
		return
	}
	share, paused := earlyShare, time.Duration(0)
	for _, o := range f.out {
		if o.settle > u.settle {
			return
		}
		if u.own.Y > 0 && o.own.Y > u.own.Y {
			share = min(share, earlyShare*u.own.Y/o.own.Y)
		}
		paused = max(paused, largePause-(f.began-o.large))
	}
	f.long = max(f.long-paused, fadeLeast)
	f.early = min(u.settle, time.Duration(math.Sqrt(2*share*f.long.Seconds()*p.window.Seconds())*float64(time.Second)))
}

// mayBeEarly tells whether the reading of a unit may: its type is taught, so that it stands near its target, or it is read
// for the second time; nothing but its colour is asked for; how long its light takes is known; and nobody looks at what its light does in time.
func (c *Core) mayBeEarly(u *unit) bool {
	key := u.SettleKey()
	_, measured := c.deadTimes[key]
	switch {
	case c.cfg.Work != Match || c.commonLux != 0 || c.cfg.Plan.Common != NoCommon || c.cfg.Plan.HandMeter || c.cfg.Plan.KeepLit:
		return false
	case u.unread == nil && u.outcome == nil, c.watches(u), !u.SettleKnown && !measured, c.unproven[key], c.fleeting[key]:
		return false
	}
	return readingsBeside(0, c.noise.sigmaUV(), c.cfg.Plan.Tolerance) <= earlyReadings
}

// soonest is when a reading of a unit where it stands may begin, and not before a moment.
func (c *Core) soonest(u *unit, after time.Duration) time.Duration {
	if stands := u.at.At + u.settle; after <= stands {
		return stands - u.fading.early
	}
	return after
}

// unsettled adds to a reading what may be left in it of the light before. It tells whether it began early.
func (u *unit) unsettled(r *Reading, net *solve.Reading) bool {
	f := &u.fading
	lead := u.at.At + u.settle - (r.At - r.Integration)
	if f.early == 0 || lead <= 0 {
		return false
	}
	f.early = 0
	if f.step > 0 {
		part := 1.0
		if r.Told {
			part = min(1, lead.Seconds()/r.Integration.Seconds())
		}
		if l := u.tally.last; l != nil {
			net.SigmaUV = math.Hypot(net.SigmaUV, part*max(f.step, l.UV.Dist(net.UV)))
			if net.HasY && net.Y > 0 && l.Lux > 0 {
				net.SigmaLnY = math.Hypot(net.SigmaLnY, part*math.Log(l.Lux/net.Y))
			}
		}
		return true
	}
	// The old light falls in a straight line to nothing: its mean over the reading, or where it is not known when the meter looks, the most.
	share := lead.Seconds()
	switch window := r.Integration.Seconds(); {
	case !r.Told:
	case lead < r.Integration:
		share *= share / (2 * window)
	default:
		share -= window / 2
	}
	share = min(1, share/f.long.Seconds())
	left, off := share, share*f.way
	for _, o := range f.out {
		part := share
		if net.HasY && net.Y > 0 {
			part *= o.own.Y / net.Y
		}
		left += part
		// The reading is drawn to the old light: how far apart the two are shows the less, the more of that is in it.
		off += part * o.tally.last.UV.Dist(net.UV) / max(1-part, 0.1)
	}
	net.SigmaUV, net.SigmaLnY = math.Hypot(net.SigmaUV, off), math.Hypot(net.SigmaLnY, left)
	return true
}
