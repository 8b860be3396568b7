package page

import (
	"context"
	"time"

	"trueup/loop/session"
	"trueup/loop/session/core"
)

// pointsOf asks whoever is at a page to take the meter from point to point, in a run that reads the lit surface. Its method is called
// with one entry after the other.
type pointsOf struct {
	c    *Control
	over context.CancelFunc // ends the question that is put; nil: none is
}

// unheard is how long a run may leave a person's word that the meter is there without a reading before they are asked again: one that
// is held takes no notice of it.
const unheard = 10 * time.Second

func (p *pointsOf) entry(ctx context.Context, e *session.Entry) {
	place, waits := e.MeterAt()
	if p.over != nil && (e.Kind == core.KindPoint || e.Kind == core.KindReading || e.Kind == core.KindAside || e.Kind == core.KindEnd || e.Kind == core.KindStop) {
		p.over()
		p.over = nil
	}
	if e.Kind == core.KindPoint || e.Kind == core.KindEnd || e.Kind == core.KindStop {
		p.c.ask.takeTo(place)
	}
	if !waits {
		return
	}
	ctx, p.over = context.WithCancel(ctx)
	p.c.all.Go(func() {
		for p.c.taken(ctx) && !waited(ctx, unheard) {
		}
	})
}

// taken asks whether the meter is where it shall be, and tells the run. It is false where nobody needs to be asked any more.
func (c *Control) taken(ctx context.Context) bool {
	if _, err := c.ask.put(ctx, Question{Kind: placeKind}); err != nil {
		return false
	}
	return c.during(func(r *session.Run) { r.Next(ctx) }) == nil
}
