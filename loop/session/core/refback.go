package core

import "trueup/loop/scene"

// A reference that the run lights beside other lamps is read over a background that is taken off, as they are. Where the next look at the dark shows
// that the background had jumped by then, by what moves it, what was read of it since the look before counts for nothing: it is read again, once before the next
// reading of a lamp.

// refKnown is what was known of the reference before a passage.
type refKnown struct {
	ref    *Reference
	moving *scene.Reference
	sway   sway
}

// keepsRef keeps what is known of the reference before a passage is taken in.
func (c *Core) keepsRef() {
	c.refBefore, c.doubtedRef = &refKnown{ref: c.ref, moving: c.moving.Clone(), sway: c.sway}, false
}

// takesRefBack takes the last passage of the reference back, if it was read at a probe after the moment when the background there was last seen to be
// as it was taken to be, and has it read again.
func (c *Core) takesRefBack(probe string, jumps []scene.Jump) {
	u := c.find(c.cfg.Plan.Target.Reference)
	if u == nil || u.Head < 0 || u.Info.Probe != probe || c.moving == nil || c.moving.Last() <= jumps[0].Since {
		return
	}
	if c.ref.Lux > 0 && c.moved(c.ref.UV.XYZ(c.ref.Lux), jumps) <= littleOff*c.cfg.Plan.Tolerance {
		return
	}
	if b := c.refBefore; b != nil && !c.cfg.Plan.Target.Freeze {
		c.ref, c.moving, c.sway = b.ref, b.moving, b.sway
	}
	note := "its last reading is taken back, since the background has jumped"
	if c.refBefore, c.doubtedRef = nil, c.looked > c.refBackAt; c.doubtedRef {
		note += ": it is read again"
	}
	c.refBackAt = c.looked
	c.enter(Entry{Kind: KindReference, Fixture: u.Info.Name, Reference: c.ref, Note: note})
}
