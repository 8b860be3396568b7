package core

import (
	"math"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/loop/solve"
)

// What was read of a lamp since the last look at the dark was taken off a background that the next look may show to have gone
// meanwhile. To the match such readings tell of another lamp than those before and after: it bends what it knows, and leaves a
// best point that it had read. Where they were off by more than their noise, the match of a visit that goes on is made anew
// from all of its readings, each with the background taken off that lay on the way from the one look to the other.

// bentBy is how many standard deviations of a reading the background has to have gone since it was taken off.
const bentBy = 1.0

// given is a reading that the match of a visit was given, and the background that was taken off.
type given struct {
	r     solve.Reading
	noise float64 // of the reading alone, for each axis of u'v'; r has more where the background under it is less well known
	under colorcalc.XYZ
	sure  bool // no light has come or gone between the looks at the dark before and after it
}

// remakes is a visit whose match can be made anew.
type remakes interface {
	// asFirst is a match as the visit began with.
	asFirst(c *Core) (*solve.Match, error)
	goOnWith(m *solve.Match)
	// has is the match that the visit has now; nil: it has not begun.
	has() *solve.Match
	// inLoop tells whether what it reads goes to the match alone.
	inLoop() bool
}

func (v *firstVisit) has() *solve.Match  { return v.match }
func (v *secondVisit) has() *solve.Match { return v.match }

func (v *firstVisit) inLoop() bool  { return v.match != nil && v.phase == inLoop }
func (v *secondVisit) inLoop() bool { return v.match != nil && !v.u.watching && !v.waiting }

// gave notes that the match of a unit's visit is given a reading.
func (c *Core) gave(u *unit, r *solve.Reading) {
	if d := c.background[u.Info.Probe]; d != nil && r.HasY && r.Y > 0 {
		u.given = append(u.given, given{r: *r, noise: r.SigmaUV, under: d.Mean()})
	}
}

// smooth corrects the readings of the visits that wait while a probe was looked at in the dark: before is the look before,
// d has taken in the one after.
func (c *Core) smooth(probe string, d *dark, before scene.Mark) {
	c.eachWaiting(func(v remakes, u *unit) {
		if u.Info.Probe == probe {
			c.remake(v, u, d, before)
		}
	})
}

// eachWaiting goes through the visits that wait, and are not to begin anew, whose match can be made anew.
func (c *Core) eachWaiting(do func(v remakes, u *unit)) {
	for _, l := range c.all() {
		b := l.waiting()
		if b == nil || b.anew {
			continue
		}
		if v, can := b.task.(remakes); can {
			do(v, b.unit())
		}
	}
}

// remake makes the match of a visit anew from its readings, corrected, if that is more than their noise. A match that knows of a
// setting without light goes on as it is: what it has made of that no reading tells.
func (c *Core) remake(v remakes, u *unit, d *dark, before scene.Mark) {
	if m := v.has(); m != nil && !m.HasUnseen() && c.corrected(u, d, before) {
		c.makeAnew(v, u)
	}
}

// makeAnew makes the match of a visit anew from the readings that it was given. False: it stays as it was, since the visit could not be begun now, though it
// has begun with the same call.
func (c *Core) makeAnew(v remakes, u *unit) bool {
	m, err := v.asFirst(c)
	if err != nil {
		return false
	}
	for _, g := range u.given {
		m.Common(c.common(u.Info.Probe, g.r.UV.XYZ(g.r.Y)))
		m.Observe(g.r)
	}
	v.goOnWith(m)
	return true
}

// corrected puts the readings of a unit right by where the background was when they were read. It tells whether that is more than their noise.
func (c *Core) corrected(u *unit, d *dark, before scene.Mark) (much bool) {
	for i := range u.given {
		g := &u.given[i]
		if g.r.At < before.At() {
			continue
		}
		light := g.r.UV.XYZ(g.r.Y)
		mean, sd := d.Between(before, g.r.At, light)
		now := light.Add(g.under).Sub(mean)
		if !now.XY().Valid() {
			continue
		}
		much = much || now.UV().Dist(g.r.UV) > bentBy*g.noise
		g.r.UV, g.r.Y, g.r.SigmaUV, g.under = now.UV(), now.Y, math.Hypot(g.noise, sd), mean
	}
	return much
}
