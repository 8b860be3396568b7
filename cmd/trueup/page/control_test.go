package page

import (
	"context"
	"errors"
	"testing"
	"time"

	"trueup/loop/session"
)

// After a run nobody looks at meter, network and desk any more: what was known of them last is not shown as if it were so now. And
// while a new run listens, nothing is told of the one before as if it were the new one's.
func TestAPageTellsNothingOfAnEarlierMoment(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	b := NewBoard("a rig", "e", nil)
	opens := make(chan struct{})
	c := NewControl(ctx, b, func(context.Context, Order) (*Prepared, error) {
		return &Prepared{Plan: Plan{Work: "match"}, Open: func(ctx context.Context, _ session.Job) (*session.Run, error) {
			select {
			case <-opens:
			case <-ctx.Done():
			}
			return nil, errors.New("no meter")
		}}, nil
	})
	before := func(top *Top) {
		top.Health = []Health{{Name: "meter", Kind: "feed", Good: true, Word: "live"}}
		top.Done, top.Of, top.Readings, top.Unwatched, top.Reference = 4, 4, 29, "panels", &Reference{Words: "5600 K"}
	}
	b.Top(before)
	p, err := c.Prepare(ctx, Order{})
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(p.ID, "page"); err != nil {
		t.Fatal(err)
	}
	if top := b.Now().Top; len(top.Health) != 0 || top.Done != 0 || top.Of != 0 || top.Readings != 0 || top.Unwatched != "" || top.Reference != nil {
		t.Errorf("while the new run listens: %+v", top)
	}
	b.Top(before)
	close(opens)
	for end := time.Now().Add(5 * time.Second); b.Phase() != Over; time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the run does not end")
		}
	}
	c.Wait()
	if top := b.Now().Top; len(top.Health) != 0 || top.Health == nil {
		t.Errorf("after the run: %+v", top.Health)
	}
}
