package core

import (
	"math"
	"strings"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// conclude enters what is claimed of each landed unit at the end of the run. Its last outcome is of the moment when it was
// read; the passages since have shown where the background was then, and where the reference is now. A claim that does
// not hold is not entered: proof has it read again, and in a run without a second visit what its visit said stands.
func (c *Core) conclude() {
	if c.cfg.Work != Match {
		return
	}
	ref, _ := c.target()
	c.each(func(u *unit) {
		k := u.claim
		if k == nil || !u.outcome.Landed() {
			return
		}
		h := c.holds(k)
		if h < keepAt {
			return
		}
		o, f := *u.outcome, *u.outcome.Final
		f.UV, f.SD, f.Delta = k.uv, math.Sqrt(k.variance()), k.uv.Dist(ref)
		if k.light.Y > 0 {
			f.Lux = k.light.Y
		}
		o.Final, o.Probability, o.Words = &f, h, colorcalc.Describe(ref.XY(), k.uv.XY())
		o.Reason = strings.Replace(o.Reason, solve.SureWords(u.outcome.Probability), solve.SureWords(h)+" at the end of the run", 1)
		if f == *u.outcome.Final && o.Probability == u.outcome.Probability {
			return
		}
		u.outcome = &o
		c.enter(Entry{Kind: KindClaim, Fixture: u.Info.Name, Outcome: &o})
	})
}
