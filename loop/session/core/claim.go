package core

import (
	"fmt"
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/loop/solve/num"
)

// claim is what was concluded of a landed unit, kept so that it can be looked at
// again when a later passage has shown where background and reference were.
type claim struct {
	uv    colorcalc.UV  // of the unit's own light
	sd    float64       // of uv by its readings, for each axis
	share float64       // of uv by the background, for each axis: common to all of them
	light colorcalc.XYZ // the unit's own, as it was taken
	under colorcalc.XYZ // the background that was taken off
	at    time.Duration // of the last reading behind it
	spilt float64       // of uv by the lamps of other lanes, for each axis
	gap   time.Duration // between the looks at the dark before and after it; 0: there was none after it yet
	early bool          // its level is of a reading that began before all light stood
	calm  bool          // it is of before a light beside the probe began to blink
}

// Figures of looking at a claim again.
const (
	keepAt     = 0.90 // probability at which a claim is kept
	sureAgain  = 0.98 // asked for first of a unit whose claim did not hold: at the edge it would fail again
	mostRounds = 12   // rounds of visits in all: each is of the claims alone that did not hold, until a warming reference slows down
	freshLight = 3.0  // tolerances that a claim may be off before what is known of the unit counts as spoilt
)

// claimed keeps what was concluded of a unit, or forgets it where it did not land. The outcome says how well the unit's
// light is known by readings, background and spill together.
func (c *Core) claimed(u *unit, o *Outcome) {
	u.claim = nil
	if o.Final == nil {
		return
	}
	k := &claim{uv: o.Final.UV, sd: o.Final.SD, at: u.read, early: u.early}
	if d := c.background[u.Info.Probe]; d != nil && o.Final.Lux > 0 {
		k.light = o.Final.UV.XYZ(o.Final.Lux)
		k.under = d.Mean()
		k.share = c.shareOf(d, k.light, u.read)
	}
	if o.Final.Lux > 0 {
		k.spilt = c.besideHarm(u.Info.Probe, o.Final.UV.XYZ(o.Final.Lux))
	}
	o.Final.SD = math.Sqrt(k.variance())
	if o.Landed() {
		u.claim = k
	}
}

// variance is that of the unit's own light, for each axis.
func (k *claim) variance() float64 { return k.sd*k.sd + k.share*k.share + k.spilt*k.spilt }

// revise corrects a claim by where the background was when the unit was read: before is
// the passage before that, d has taken in the one after.
func (k *claim) revise(d *dark, before scene.Mark) {
	if !(k.light.Y > 0) || k.at < before.At() {
		return // an earlier passage has looked at it already
	}
	k.gap = d.when - before.At()
	k.takesOff(d.Between(before, k.at, k.light))
}

// takesOff corrects a claim by the background that its readings are taken to have had, and how well that is known, for each axis of its light.
func (k *claim) takesOff(mean colorcalc.XYZ, sd float64) {
	light := k.light.Add(k.under).Sub(mean)
	if !light.XY().Valid() {
		k.share = 1 // whatever it was, it is not known
		return
	}
	old := k.light.UV()
	now := light.UV()
	k.uv.U += now.U - old.U
	k.uv.V += now.V - old.V
	k.light, k.under, k.share = light, mean, sd
}

// holds is the probability that a claim is true of the reference as it is now.
func (c *Core) holds(k *claim) float64 {
	ref, sd := c.target()
	v := k.variance() + sd*sd
	return num.InCircle(k.uv.U-ref.U, k.uv.V-ref.V, num.Cov2{UU: v, VV: v}, c.cfg.Plan.Tolerance)
}

// target is where the reference is now, and what is not known of it, for each axis.
func (c *Core) target() (colorcalc.UV, float64) {
	if c.ref == nil { // lamps warm up
		if uv := c.cfg.Plan.Target.UV; uv != (colorcalc.UV{}) {
			return uv, 0
		}
		return warmUpWhite, 0
	}
	if c.moving == nil || c.cfg.Plan.Target.Freeze {
		return c.ref.UV, c.ref.SigmaUV
	}
	return c.moving.Now(c.now)
}

// common is what the readings of a unit have in common: the doubt of the reference and of
// the background, for each axis.
func (c *Core) common(probe string, light colorcalc.XYZ) float64 {
	_, sd := c.target()
	if d := c.background[probe]; d != nil && light.Y > 0 {
		sd = math.Hypot(sd, c.shareOf(d, light, c.now))
	}
	return math.Hypot(sd, c.besideHarm(probe, light))
}

// proof looks at all claims after the last readings of background and reference. Units
// whose claim no longer holds are visited again, for a bounded number of rounds; a claim that can not be kept even
// then is taken back.
type proof struct{ round int }

func (proof) unit() *unit { return nil }

func (p proof) step(c *Core, _ input) want {
	if watch := c.unwatched(); len(watch) > 0 {
		c.lane.tasks = append(append(watch, p), c.lane.tasks...)
		return want{next: true}
	}
	again := c.wronglyHeld()
	for _, u := range c.units {
		if u.claim == nil || !c.ours(u) {
			continue
		}
		if c.holds(u.claim) >= keepAt && u.outcome.Landed() { // one taken back as the run was stopped is read again
			continue
		}
		ref, _ := c.target()
		off := u.claim.uv.Dist(ref)
		sigma := c.noiseAt(u.Info.Probe).sigmaUV()
		noisy := colorcalc.ReadingsFor(sigma, c.cfg.Plan.Tolerance) > manyReadings
		if p.round < c.rounds() && !noisy {
			if off > freshLight*c.cfg.Plan.Tolerance {
				u.forget()
			}
			again = append(again, &secondVisit{u: u, sure: sureAgain})
			continue
		}
		why := "background or reference have moved since it was read, round after round"
		if d := c.background[u.Info.Probe]; d != nil && d.switched {
			why = switchedTooOften(u.Info.Probe, "before the dark could be read again, round after round")
		}
		if c.sway.sways() {
			why = fmt.Sprintf("%s, and has moved since it was read: %s", c.sway.words(), c.sway.advice())
		}
		if noisy {
			why = fmt.Sprintf("the meter scatters by %.4f, too much for a tolerance of %.4f", sigma, c.cfg.Plan.Tolerance)
		}
		c.doubtful(u, why)
		u.claim = nil
	}
	if len(again) > 0 {
		again = append(again, c.passages()...)
		c.lane.tasks = append(append(again, proof{p.round + 1}), c.lane.tasks...)
	}
	return want{next: true}
}

// rounds is the most rounds of visits that help.
func (c *Core) rounds() int {
	if c.sway.sways() {
		return swayRounds
	}
	return mostRounds
}

// passages are the readings of background and reference between the rounds.
func (c *Core) passages() (all []task) {
	dark := !c.cfg.Plan.KeepLit && c.cfg.Work != ByHand
	ref := &reference{again: true, most: endReference}
	switch {
	case dark && c.moving != nil:
		return c.inDarkness(ref, true)
	case dark:
		return c.darkReadings(true)
	case c.moving != nil:
		return []task{ref}
	}
	return nil
}

// due is what has to be read before the lane goes on to a unit: the background or the
// reference, where not knowing it any better would weigh too much.
func (c *Core) due(t task) task {
	u := t.unit()
	if u == nil || !c.ours(u) || c.cfg.Work == ByHand || c.cfg.Work == Probe || c.cfg.Work == Rehearse {
		return nil
	}
	if c.cfg.Plan.HandMeter { // nobody is sent back in the middle of a visit: it ends where its readings are in vain
		if t == c.lane.task {
			return nil
		}
		return c.sparesAnswers(u)
	}
	if v, ok := t.(*firstVisit); ok && v.phase == learningDeadTime {
		return nil // it counts from the arrival: a pause for the dark would count as dead time
	}
	if t := c.suspected(t); t != nil {
		return t
	}
	if c.doubtedRef {
		return &reference{again: true, most: endReference}
	}
	if c.lookedEnough(t) {
		return nil
	}
	tol := c.cfg.Plan.Tolerance
	if d := c.background[u.Info.Probe]; d != nil && d.blinks == "" && !c.mute(u.Info.Probe) && !c.cfg.Plan.KeepLit &&
		c.now-d.when > leastPause && c.looksAt(u.Info.Probe)-d.looked >= litReadings &&
		d.light.Y > 0 && d.Share(d.light, c.now) > darkAgain*tol {
		return c.look(u.Info.Probe)
	}
	if c.moving != nil && !c.cfg.Plan.Target.Freeze && c.now-c.moving.Last() > c.referencePause(u) && c.looked-c.followed > len(c.lanes) {
		limit := referenceAgain
		if t == c.lane.task && u.stood != nil { // it stands lit: to go and come back costs more than a few readings
			limit = referenceSoon
		}
		if _, sd := c.moving.Now(c.now); sd > limit*tol && c.readable() {
			return &reference{again: true, most: nextReference}
		}
	}
	return nil
}

// suspected is a look at the dark that has to be whatever it costs: readings of a lamp are odd, or its background jumped not
// long ago. It is before a task.
func (c *Core) suspected(before task) task {
	for _, o := range c.units {
		if d := c.background[o.Info.Probe]; d != nil && ((d.wanted || len(d.witness.differ) > 0 && before != c.lane.task) && (d.blinks == "" || d.matters(c)) && !c.mute(o.Info.Probe) || c.wary(o.Info.Probe, d, before)) {
			return &backgrounds{only: o.Info.Probe}
		}
	}
	return nil
}

// leastPause lies between two passages at least, and a reading of a fixture: one that did
// not help is not repeated at once, and the way back to the fixture takes longer than any pause.
const leastPause = 2 * time.Second

// referencePause lies between two passages of the reference. At a unit that takes many more readings than a match may, it is as long as the
// last passage at least: what more is known of the reference will hardly land it, and keeps everybody waiting.
func (c *Core) referencePause(u *unit) time.Duration {
	if c.beyond(u, 2) {
		return max(leastPause, c.following)
	}
	return leastPause
}
