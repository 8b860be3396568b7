package page

import (
	"context"
	"testing"
	"testing/synctest"

	"trueup/loop/session"
	"trueup/loop/session/core"
)

// At each point a page is asked once to take the meter there, and no longer once the run reads there; a person who reads the meter is
// told the point with the question for the reading.
func TestWhoeverIsAtThePageIsSentFromPointToPoint(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		b := NewBoard("a rig", "e", func(e session.Entry) string { return e.Note })
		c := NewControl(ctx, b, nil)
		p := pointsOf{c: c}
		asked := func() *Question {
			synctest.Wait()
			return b.Now().Top.Question
		}
		enter := func(kind core.Kind, note string, at *core.PointRead) {
			e := session.Entry{Kind: kind, Note: note, Point: at}
			p.entry(ctx, &e)
			b.Entry(e)
		}
		enter(core.KindPoint, "point 1 of 2, left: put the meter there, then type next and Enter", nil)
		q := asked()
		if q == nil || q.Kind != placeKind || q.Place != "point 1 of 2, left: put the meter there" {
			t.Fatalf("asked %+v", q)
		}
		if err := c.Answer(q.ID, "4300 0.001"); err == nil {
			t.Error("a reading is taken where the meter is to be put")
		}
		if log := b.Now().Log; log[0].Text != q.Place {
			t.Errorf("the log says %q", log[0].Text)
		}
		enter(core.KindReading, "", nil) // somebody said so elsewhere
		if q := asked(); q != nil {
			t.Errorf("still asked: %+v", q)
		}
		enter(core.KindPoint, "left: 0.0003 off by 5 readings, 400 lux", &core.PointRead{})
		if q := asked(); q != nil {
			t.Errorf("asked after a point was read: %+v", q)
		}
		enter(core.KindPoint, "point 2 of 2, point: the readings do not agree, or show no light: it is left out", nil)
		if q := asked(); q != nil {
			t.Errorf("asked after a point was left out: %+v", q)
		}
		enter(core.KindPoint, "point 2 of 2, right: put the meter there", nil)
		if q := asked(); q != nil {
			t.Errorf("asked where the reading itself is asked for: %+v", q)
		}
		c.all.Go(func() { c.ask.put(ctx, Question{Kind: readKind}) })
		if q := asked(); q == nil || q.Place != "point 2 of 2, right: put the meter there" {
			t.Errorf("asked %+v", q)
		} else if err := c.Answer(q.ID, "4300 0.001"); err != nil {
			t.Error(err)
		}
		enter(core.KindStop, "stopped", nil) // a run that is stopped has no end of its own: what is asked in the next is of no point
		c.all.Go(func() { c.ask.put(ctx, Question{Kind: readKind}) })
		if q := asked(); q == nil || q.Place != "" {
			t.Errorf("asked %+v", q)
		}
		cancel()
		c.Wait()
	})
}
