package core

import (
	"fmt"
	"time"

	"trueup/profiles/printable"
)

// Recall puts the look that an earlier run left back, and holds it. Nothing is read.
const Recall Work = "recall"

// recallAtMost is how long a look is held that nobody ends.
const recallAtMost = 1000 * time.Hour

// putBack sets all units of a look at once, at the pace of the governor, and holds them.
type putBack struct {
	look  relit
	stood bool
}

func (p *putBack) unit() *unit { return nil }

func (p *putBack) step(c *Core, in input) want {
	switch {
	case in.refused != "":
		return p.look.refused(c, in)
	case in.arrived != nil:
		p.look.stands(c)
		c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("the look stands: %s as the run left them. It is held until you end it", printable.Count(len(p.look), "fixture"))})
		p.stood = true
		return want{until: c.now + recallAtMost}
	case p.stood:
		return want{next: true}
	}
	p.look = c.relight("recall")
	return p.look.want("nothing to recall: the earlier run left no setting for any fixture of this rig")
}
