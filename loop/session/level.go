package session

import (
	"fmt"
	"math"

	"trueup/loop/session/rig"
	"trueup/loop/solve"
)

// commonTolerance is how far a unit's level may lie from the common one, as a
// fraction: a quarter of the smallest step of level that a careful eye sees
// between fields side by side is about one percent; meters scatter by as much.
const commonTolerance = 0.02

// commonHeadroom keeps the brightest common level a little below what the
// weakest unit can give: colour and level are set together, and a cap that
// bites would take the colour along.
const commonHeadroom = 0.95

// chooseCommonLevel fixes the level that all units are brought to when they are
// visited again. Units that did not land are left at their own level.
func (s *Session) chooseCommonLevel() error {
	if s.plan.Common == rig.NoCommon {
		return nil
	}
	lowest, most, weakest := math.Inf(1), math.Inf(1), ""
	for _, u := range s.units {
		if u.outcome == nil || u.outcome.Result != solve.Landed.String() || !(u.outcome.Lux > 0) {
			continue
		}
		lowest = min(lowest, u.outcome.Lux)
		if m := commonHeadroom * u.outcome.Lux * u.Headroom; m < most {
			most, weakest = m, u.Info.Name
		}
	}
	if math.IsInf(lowest, 1) {
		return s.journal.Append(Entry{Kind: KindLevel, Note: "no common level: no fixture landed with a level that the feed tells"})
	}
	note := ""
	switch s.plan.Common {
	case rig.CommonEqual:
		s.commonLux, note = lowest, "as the weakest gives at its level"
	case rig.CommonBrightest:
		s.commonLux, note = most, "the most that "+weakest+" can give within its cap"
	default:
		s.commonLux, note = s.plan.Lux, "as asked for"
		if s.plan.Lux > most/commonHeadroom {
			note = fmt.Sprintf("as asked for, but %s gives %.0f lux at most within its cap", weakest, most/commonHeadroom)
		}
	}
	return s.journal.Append(Entry{Kind: KindLevel, Note: fmt.Sprintf("common level %.1f lux: %s", s.commonLux, note)})
}
