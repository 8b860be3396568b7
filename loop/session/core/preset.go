package core

import (
	"slices"

	"trueup/loop/solve"
)

// preset sets the dark units of the run to the colour that each is first lit at, while the first
// of them fades in: a fade that begins with the right mix takes as long as its dimmer alone. Their
// dimmers stay where they are. It is done once; later visits find the colour that the last one left. A
// unit that goes dark by its emitters has no colour in the dark and is left alone.
func (c *Core) preset(l *lane) {
	if c.presetDone || !c.cfg.Plan.Preset || c.cfg.Plan.KeepLit || c.ref == nil || !slices.Contains([]Work{Match, Survey, Verify}, c.cfg.Work) {
		return
	}
	c.presetDone = true
	c.each(func(u *unit) {
		stands := u.at.Sent
		if stands == nil || u.adrift || len(u.Dark) == 0 || slices.Contains(l.moving, u) || !slices.Equal(u.Darkened(stands), stands) {
			return
		}
		first := c.firstDrive(u)
		if first == nil {
			return
		}
		if d := u.Darkened(first); !slices.Equal(d, stands) {
			c.wish(l, u, d)
			u.presetting = true
		}
	})
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
