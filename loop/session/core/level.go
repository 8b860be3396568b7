package core

import (
	"fmt"
	"math"
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
	lowest, most, weakest := math.Inf(1), math.Inf(1), ""
	for _, u := range c.units {
		if !u.outcome.Landed() || u.outcome.Final == nil || !(u.outcome.Final.Lux > 0) {
			continue
		}
		lux := u.outcome.Final.Lux
		lowest = min(lowest, lux)
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
		c.commonLux, note = lowest, "as the weakest gives at its level"
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
