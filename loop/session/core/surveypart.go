package core

import (
	"slices"

	"trueup/loop/solve"
)

// The survey of spill need not light all lamps of a lane at all of their light: together they give more than one of them does when it is
// matched. A part of it fades up and down in a part of the time.

// Figures of that part.
const (
	surveyLamps = 2.0 // times the light of one lamp, that those of a lane are to give together at the least
	leastSurvey = 0.2 // of their light
)

// surveyPart is the part of their light at which a survey lights the lamps: less than all of it only where every lamp says how its light
// follows its codes.
func (c *Core) surveyPart() float64 {
	count := map[*lane]int{}
	part := leastSurvey
	c.each(func(u *unit) {
		count[c.byProbe[u.Info.Probe]]++
		for _, a := range u.Dark {
			if l, ok := u.Spec.Light(a.Axis); !ok || !l.Curve.Stated() {
				part = 1
			}
		}
	})
	for _, n := range count {
		part = max(part, min(1, surveyLamps/float64(n)))
	}
	return part
}

// inPart is a drive at a part of its light.
func (u *Unit) inPart(d solve.Drive, part float64) solve.Drive {
	if part == 1 {
		return d
	}
	d = slices.Clone(d)
	for _, a := range u.Dark {
		if l, ok := u.Spec.Light(a.Axis); ok {
			d[a.Axis] = l.CodeOf(part * l.Light(d[a.Axis]))
		}
	}
	return d
}

// throwsMore takes in what a unit gives at its own probe when it is read there first where it is matched. One that is far brighter than the
// survey has it may have stood lower there than its curve says: it is taken to throw as much more on the other probes too.
func (c *Core) throwsMore(u *unit, own float64) {
	if u.surveyed > 0 && own > unevenShare*u.surveyed {
		for probe, light := range c.spill[u.Info.Name] {
			c.spill.put(u.Info.Name, probe, light.Scale(own/u.surveyed))
		}
	}
	u.surveyed = 0
}
