package core

import (
	"fmt"
	"time"

	"trueup/loop/solve"
)

// Recall puts the look that an earlier run left back, and holds it. Nothing is read.
const Recall Work = "recall"

// recallAtMost is how long a look is held that nobody ends.
const recallAtMost = 1000 * time.Hour

// putBack sets all units of a look at once, at the pace of the governor, and holds them.
type putBack struct {
	moves  []move
	stands bool
}

func (p *putBack) unit() *unit { return nil }

func (p *putBack) step(c *Core, in input) want {
	switch {
	case in.refused != "":
		for i, m := range p.moves {
			if m.unit == in.by {
				p.moves = append(p.moves[:i:i], p.moves[i+1:]...)
				m.unit.outcome = c.outcomeOf(m.unit, solve.Decision{Outcome: solve.Held, Reason: in.why})
				c.enter(Entry{Kind: KindOutcome, Fixture: m.unit.Info.Name, Outcome: m.unit.outcome})
				break
			}
		}
		if len(p.moves) == 0 {
			return want{fail: fmt.Errorf("no lamp takes its setting")}
		}
		return want{look: p.moves}
	case in.arrived != nil:
		for _, m := range p.moves {
			c.stood(m.unit, Step{Action: "sent", Codes: m.unit.at.Sent})
		}
		c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("the look stands: %d lamps as the run left them. It is held until you end it", len(p.moves))})
		p.stands = true
		return want{until: c.now + recallAtMost}
	case p.stands:
		return want{next: true}
	}
	for _, s := range c.cfg.Previous {
		if u := c.find(s.Fixture); u != nil && u.Head >= 0 && len(s.Codes) == len(u.Rest) {
			c.decided(u, Step{Action: "recall", Codes: s.Codes})
			p.moves = append(p.moves, move{unit: u, drive: s.Codes})
		}
	}
	if len(p.moves) == 0 {
		return want{fail: fmt.Errorf("nothing to recall: the earlier run left no setting for any fixture of this rig")}
	}
	return want{look: p.moves}
}
