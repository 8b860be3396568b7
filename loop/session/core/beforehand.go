package core

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// While the network is listened to and the look at the start is sent, a light that nobody drives, at a probe of its own, is read already. Lamps of
// another sender may have lit its probe then, and be out or lit otherwise since; so these readings count only if those in the dark after it, of the same
// light, agree with them in colour and in level: light that comes or goes changes the level by more than the colour. Where the run's own lamps are lit as
// found they do not count at all. For what differs by less than the readings can tell, half of them
// count in the doubt of the mean; and every later passage looks at it.

// Figures of readings that were made beforehand.
const (
	leastBeforehand = 3                // of them that are worth a comparison
	darkBeforehand  = 5                // readings in the dark that they are compared with
	alikeBeforehand = 2.5              // standard errors that the two may differ by: 4 % of equal lights differ by more in colour
	mostBeforehand  = 15 * time.Second // before the run: what is older may be of a light that has wandered
)

// beforehand are the readings of a reference that were made before the run, where they may count.
func (c *Core) beforehand(u *unit) (all []*Reading) {
	if u.Head >= 0 || !slices.Contains([]Work{Match, Survey, Verify}, c.cfg.Work) || c.cfg.Plan.KeepLit || !c.shinesApart() {
		return nil
	}
	for _, o := range c.units {
		if o.Head >= 0 && (len(o.Dark) == 0 || !slices.Equal(o.Darkened(o.Rest), o.Rest)) {
			return nil
		}
	}
	for i := range c.cfg.Beforehand {
		if r := &c.cfg.Beforehand[i]; r.Probe == u.Info.Probe && r.tellsLevel() && r.Y > 0 && r.At > -mostBeforehand && r.At <= 0 {
			all = append(all, r)
		}
	}
	if len(all) < leastBeforehand {
		return nil
	}
	return all[max(0, len(all)-mostReference):]
}

// recalls puts the readings that were made beforehand on record, and sets dark lamps to the colour that they promise.
func (r *reference) recalls(c *Core) {
	all := c.beforehand(r.u)
	if all == nil {
		return
	}
	r.before = &reference{u: r.u, again: true}
	for _, raw := range all {
		r.before.take(c, raw)
		c.do.Entries[len(c.do.Entries)-1].Note = "read before the run began"
	}
	r.sendsColours(c, r.before.uv)
}

// judges decides once whether what was read beforehand counts, and puts it before what was read in the dark.
func (r *reference) judges(c *Core) {
	b := r.before
	if b == nil || len(r.uv) < darkBeforehand {
		return
	}
	r.before = nil
	noise := *c.noiseAt(r.u.Info.Probe)
	then, now := byScatter(b.uv), byScatter(r.uv)
	noise.learn(pick(b.uv, then), pick(b.lnY, then))
	noise.learn(pick(r.uv, now), pick(r.lnY, now))
	part := math.Sqrt(1/float64(len(then)) + 1/float64(len(now)))
	off := meanUV(pick(b.uv, then)).Dist(meanUV(pick(r.uv, now)))
	level := math.Abs(mean(nearLevel(pick(b.lnY, then))) - mean(nearLevel(pick(r.lnY, now))))
	if !(off <= alikeBeforehand*part*noise.sigmaUV() && level <= alikeBeforehand*part*noise.sigmaLnY()) {
		r.unlike = fmt.Sprintf("; before the run it was read %.4f and %.1f %% of its level from there: that does not count", off, 100*math.Expm1(level))
		return
	}
	r.earlier = len(b.uv)
	r.uv, r.lnY = append(b.uv, r.uv...), append(b.lnY, r.lnY...)
	r.light, r.at = append(b.light, r.light...), append(b.at, r.at...)
}
