package core

import (
	"slices"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/solve"
)

// presetFrom is how many readings of the reference tell about where its colour is.
const presetFrom = 3

// preset sets the dark units of the run to the colour that each is first lit at, while the first
// of them fades in: a fade that begins with the right mix takes as long as its dimmer alone. Their
// dimmers stay where they are. It is done once; later visits find the colour that the last one left. A
// unit that goes dark by its emitters has no colour in the dark and is left alone.
func (c *Core) preset(l *lane) {
	for _, m := range c.toPreset(l.moving) {
		c.wish(l, m.unit, m.drive)
		m.unit.presetting = true
	}
}

// presetSoon does the same while background and reference are read in the dark, as soon as it is known about which colour
// the units will be lit at. Nobody waits for it: who lights a unit takes it from where it is.
func (c *Core) presetSoon(reference colorcalc.UV) {
	if c.ref != nil || c.holding || c.do.Done || c.cfg.Work == Verify || c.cfg.Plan.HandMeter {
		return
	}
	c.ref = &Reference{UV: reference}
	all := c.toPreset(nil)
	c.ref = nil
	for _, m := range all {
		m.unit.wished = slices.Clone(m.drive)
		c.do.Wishes = append(c.do.Wishes, Wish{Head: m.unit.Head, Codes: slices.Clone(m.drive)})
		c.colouring = append(c.colouring, m.unit)
	}
}

// coloured takes in that a head stands that nobody waits for, or that it does not take the colour.
func (c *Core) coloured(e *Event) {
	i := slices.IndexFunc(c.colouring, func(u *unit) bool { return u.Head == e.Head })
	if i < 0 {
		return
	}
	u := c.colouring[i]
	c.colouring = slices.Delete(c.colouring, i, i+1)
	if u.adrift = e.Kind == Refused || len(e.Sent) != len(u.Spec.Channels); !u.adrift {
		u.at = loop.Arrival{At: e.When, Sent: slices.Clone(e.Sent)}
	}
}

// toPreset are the dark units with the colour that each is first lit at, once.
func (c *Core) toPreset(moving []*unit) (all []move) {
	if c.presetDone || !c.cfg.Plan.Preset || c.cfg.Plan.KeepLit || c.ref == nil || !slices.Contains([]Work{Match, Survey, Verify}, c.cfg.Work) {
		return nil
	}
	c.presetDone = true
	c.each(func(u *unit) {
		stands := u.at.Sent
		if stands == nil || u.adrift || len(u.Dark) == 0 || slices.Contains(moving, u) || !slices.Equal(u.Darkened(stands), stands) {
			return
		}
		first := c.firstDrive(u)
		if first == nil {
			return
		}
		if d := u.Darkened(first); !slices.Equal(d, stands) {
			all = append(all, move{unit: u, drive: d})
		}
	})
	return all
}

// firstDrive is about where the first visit of a unit will light it; nil where that is not known.
func (c *Core) firstDrive(u *unit) solve.Drive {
	if c.cfg.Work == Verify {
		for _, s := range c.cfg.Previous {
			if s.Fixture == u.Info.Name && len(s.Codes) == len(u.Rest) {
				return s.Codes
			}
		}
		return nil
	}
	if u.Found != nil {
		return u.Found
	}
	m, err := c.matchFrom(u, nil, 0)
	if err != nil {
		return nil // its own visit says so
	}
	return m.Next(c.now).Drive
}
