package core

import (
	"trueup/colorcalc"
	"trueup/loop/solve"
)

// unevenShare times what the lamps of a lane throw on a probe on average is the most that one of them is taken to
// throw there. Where a lane has no more lamps than that, it is all that was read.
const unevenShare = 2.0

// shareOut keeps what each lamp that was lit may have thrown on a probe, by what all together threw there. All of it
// may come from the lamps of one lane, and of these no lamp is taken to throw more than unevenShare times their average.
func (c *Core) shareOut(lit map[*unit]bool, probe string, light colorcalc.XYZ) {
	lamps := map[*lane]int{}
	c.each(func(u *unit) {
		if lit[u] {
			lamps[c.byProbe[u.Info.Probe]]++
		}
	})
	c.each(func(u *unit) {
		if !lit[u] {
			return
		}
		most := light.Scale(min(1, unevenShare/float64(lamps[c.byProbe[u.Info.Probe]])))
		if was, known := c.spill[u.Info.Name][probe]; !known || most.Y < was.Y {
			c.spill.put(u.Info.Name, probe, most)
		}
	})
}

// workingDrive is where the survey of spill lights a unit: about where its match will, for one that was found dim
// throws less than it does then. Nil where that is not known.
func (c *Core) workingDrive(u *unit) solve.Drive {
	if c.cfg.Work == Match {
		if m, err := c.matchFrom(u, nil, 0); err == nil {
			if d := m.Next(c.now).Drive; d != nil {
				return d
			}
		}
	}
	return c.firstDrive(u)
}
