package core

import (
	"fmt"
	"math"
	"strings"
)

// commonTolerance is how far a unit's level may lie from the common one, as a
// fraction: a quarter of the smallest step of level that a careful eye sees
// between fields side by side is about one percent; meters scatter by as much.
const commonTolerance = 0.02

// commonHeadroom keeps the brightest common level a little below what the
// weakest unit can give: colour and level are set together, and a cap that
// bites would take the colour along.
const commonHeadroom = 0.95

// commonLevel fixes the level that all units are brought to when they are
// visited again. Units that did not land are left at their own level.
type commonLevel struct{}

func (commonLevel) unit() *unit { return nil }

func (commonLevel) step(c *Core, _ input) want {
	c.chooseCommonLevel()
	return want{next: true}
}

func (c *Core) chooseCommonLevel() {
	if c.cfg.Plan.Common == NoCommon {
		return
	}
	lowest, most, weakest, dimmest, n := math.Inf(1), math.Inf(1), "", "", 0
	for _, u := range c.units {
		lux := u.landedLux()
		if !(lux > 0) {
			continue
		}
		if n++; lux < lowest {
			lowest, dimmest = lux, u.Info.Name
		}
		if m := commonHeadroom * lux * u.Headroom; m < most {
			most, weakest = m, u.Info.Name
		}
	}
	if math.IsInf(lowest, 1) {
		c.enter(Entry{Kind: KindLevel, Note: "no common level: no fixture landed with a level that the feed tells"})
		return
	}
	note := ""
	switch c.cfg.Plan.Common {
	case CommonEqual:
		c.commonLux, note = lowest, fmt.Sprintf("as the weakest gives at its level, %s", dimmest)
		if n == 1 {
			note = fmt.Sprintf("as %s gives, the only one that has landed", dimmest)
		}
	case CommonBrightest:
		c.commonLux, note = most, "the most that "+weakest+" can give within its cap"
	default:
		c.commonLux, note = c.cfg.Plan.Lux, "as asked for"
		if c.cfg.Plan.Lux > most/commonHeadroom {
			note = fmt.Sprintf("as asked for, but %s gives %.0f lux at most within its cap", weakest, most/commonHeadroom)
		}
	}
	c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("common level %.1f lux: %s", c.commonLux, note)})
}

// levelShort is by how much a unit's level lies off the common one, ln, that is no scatter of two readings.
const levelShort = 2 * commonTolerance

// levelHeld looks, once all units were brought to the common level, which of them do not give it: what a unit gives at most was
// reckoned from its level and its cap, and a lamp may limit itself before; the weakest may not have landed when the level was chosen. The level that all
// give is what the dimmest of them gives then, and the others are brought down to it; one in lux stays. At the end the units below and above it are named.
type levelHeld struct{ lowered bool }

func (levelHeld) unit() *unit { return nil }

func (h levelHeld) step(c *Core, _ input) want {
	if c.commonLux == 0 {
		return want{next: true}
	}
	least, lowest, dimmest := c.commonLux*math.Exp(-levelShort), math.Inf(1), ""
	most := c.commonLux * math.Exp(levelShort)
	var short, beyond []string
	for _, u := range c.units {
		lux := u.landedLux()
		if lux > most && c.ours(u) {
			beyond = append(beyond, fmt.Sprintf("%s %.1f lux", u.Info.Name, lux))
		}
		if lux > 0 && lux < least {
			short = append(short, fmt.Sprintf("%s %.1f lux", u.Info.Name, lux))
			if lux < lowest {
				lowest, dimmest = lux, u.Info.Name
			}
		}
	}
	if len(short) > 0 && c.cfg.Plan.Common != CommonLux && !h.lowered {
		c.commonLux = lowest
		c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("common level %.1f lux: as %s gives, and no more; brighter fixtures are brought down to it", lowest, dimmest)})
		var again []task
		for _, u := range c.units {
			if lux := u.landedLux(); c.ours(u) && lux > c.commonLux*(1+commonTolerance) {
				again = append(again, &secondVisit{u: u})
			}
		}
		c.lane.tasks = append(append(again, levelHeld{lowered: true}), c.lane.tasks...)
		return want{next: true}
	}
	if len(short) > 0 {
		c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("below the common level of %.1f lux, which they do not give at this colour: %s; ask for a lower level to have them all alike", c.commonLux, strings.Join(short, ", "))})
	}
	if len(beyond) > 0 {
		c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("above the common level of %.1f lux, to which they were not brought: %s", c.commonLux, strings.Join(beyond, ", "))})
	}
	return want{next: true}
}

// landedLux is the level that a unit landed with, lux; 0: it did not, or the feed tells none.
func (u *unit) landedLux() float64 {
	if o := u.outcome; o != nil && o.Landed() && o.Final != nil {
		return o.Final.Lux
	}
	return 0
}
