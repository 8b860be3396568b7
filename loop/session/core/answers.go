package core

import (
	"math"
	"time"

	"trueup/colorcalc"
)

// Where a person reads the meter every reading is an answer that somebody types. Background and reference are asked for again between two visits, where
// that spares more answers than it costs; a visit whose lamp no reading can land, as they are known by then, ends.

// Figures of that.
const (
	pointsOfVisit  = 2 // times the readings that one point takes: it is not read at its best setting at first
	answersAhead   = 3 // of a visit, until the doubt of background and reference counts
	mostVainVisits = 2 // to one unit on the second round, that background and reference are read again for
)

// sparesAnswers is the passage of background or reference that spares a visit to a unit, which begins next, more answers than it costs; nil
// where none does.
func (c *Core) sparesAnswers(u *unit) task {
	d, light := c.background[u.Info.Probe], u.own
	if d != nil && !(light.Y > 0) {
		light = d.light
	}
	looksDark := d != nil && light.Y > 0 && d.blinks == "" && !c.mute(u.Info.Probe) && !c.cfg.Plan.KeepLit && c.looksAt(u.Info.Probe) > d.looked
	looksRef := c.moving != nil && !c.cfg.Plan.Target.Freeze && c.looked > c.followed
	if !looksDark && !looksRef {
		return nil
	}
	pace := c.answerTime(u)
	ahead := func(passages int) time.Duration { return c.now + time.Duration(answersAhead+passages)*pace }
	refs := []float64{c.refDoubt(0, ahead(0))}
	darks := []float64{0}
	if d != nil && light.Y > 0 {
		darks[0] = c.shareOf(d, light, ahead(0))
	}
	if looksRef {
		refs = append(refs, c.refDoubt(nextReference, ahead(nextReference)))
	}
	if looksDark {
		darks = append(darks, c.darkDoubt(d, light, nextDark, pace))
	}
	best, which := math.Inf(1), 0
	for i, ref := range refs {
		for k, dark := range darks {
			if n := float64(i*nextReference+k*nextDark) + c.visitTakes(d, light, math.Hypot(ref, dark)); n < best {
				best, which = n, i+2*k
			}
		}
	}
	switch {
	case which >= 2:
		return &backgrounds{only: u.Info.Probe}
	case which == 1:
		return &reference{again: true, most: nextReference}
	}
	return nil
}

// visitTakes is about how many answers a visit takes to land a lamp of a light, or to end in vain, when common is the doubt that all its readings share.
func (c *Core) visitTakes(d *dark, light colorcalc.XYZ, common float64) float64 {
	_, most := c.budgets(mostBudget)
	return min(pointsOfVisit*c.pointBeside(d, light.Y, common), float64(most))
}

// answerTime is how long a person takes for one reading of a unit, about.
func (c *Core) answerTime(u *unit) time.Duration {
	if p := c.paces[u.Info.Probe]; p != nil {
		return p.least
	}
	return 0
}

// refDoubt is what is not known of the reference at a later moment, for each axis, if it is read n times now and is where it is believed to be: that
// teaches how fast it wanders, too.
func (c *Core) refDoubt(n int, at time.Duration) float64 {
	if c.moving == nil || c.cfg.Plan.Target.Freeze {
		_, sd := c.target()
		return sd
	}
	r := c.moving.Clone()
	z, when := make([]colorcalc.UV, n), make([]time.Duration, n)
	for i := range z {
		z[i], _ = r.Now(c.now)
		when[i] = c.now
	}
	r.Passage(z, c.noiseOfRef().sigmaUV(), when)
	_, sd := r.Now(at)
	return sd
}

// darkDoubt is what the background gives to a light, for each axis, once it has been read n times and a few answers have passed.
func (c *Core) darkDoubt(d *dark, light colorcalc.XYZ, n int, pace time.Duration) float64 {
	z, at := make([]colorcalc.XYZ, n), make([]time.Duration, n)
	for i := range z {
		z[i], at[i] = d.Mean(), c.now+time.Duration(i+1)*pace
	}
	return d.After(z, c.meter(d.probe), at, light, c.now+time.Duration(n+answersAhead)*pace)
}

// isInVain ends the match of a unit that no more of its readings can land, as background and reference are known and where neither is read
// again in the course of its visit.
func (m *matching) isInVain(c *Core, u *unit) bool {
	if !c.cfg.Plan.HandMeter && c.cfg.Work != ByHand || u.tally.kept < leastKept {
		return false
	}
	d, ok := m.visit.Match.InVain()
	if ok {
		m.ended, m.inVain = d, true
		if u.outcome == nil && c.readLater() {
			m.ended.Reason += "; it is read again once they have been"
		}
	}
	return ok
}
