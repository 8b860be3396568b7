package session

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"trueup/loop/session/core"
	"trueup/safety"
)

// An arrival at a wish that a newer one has replaced is not told as the newer one's,
// though it was on its way already.
func TestAnArrivalAtAnOldWishIsNotTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newShell(nil, nil, nil, nil, nil, 0, nil)
		old := &wait{cancel: func() {}}
		go s.tell(t.Context(), old, func() core.Event { return core.Event{Kind: core.Arrived, Head: 3} })
		synctest.Wait()
		old.callOff()
		if e := s.await(t.Context(), nil, 0); e.Kind != core.Tick {
			t.Errorf("told: %s of head %d", e.Kind, e.Head)
		}
	})
}

// What a person asks for in quick succession comes in its order.
func TestHoldAndGoOnKeepTheirOrder(t *testing.T) {
	r := &Run{control: make(chan order, controls), over: make(chan struct{})}
	for range 5 {
		r.Hold(t.Context())
		r.GoOn(t.Context())
	}
	for i := range 10 {
		want := []core.EventKind{core.Hold, core.GoOn}[i%2]
		if o := <-r.control; o.event.Kind != want {
			t.Fatalf("%d: %s, want %s", i, o.event.Kind, want)
		}
	}
}

// The door hears of a stop a moment before the run does, and refuses what is wished in
// between: the run was stopped all the same, and is no failure.
func TestAStopGoesBeforeWhatItBringsAbout(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, stop := context.WithCancel(t.Context())
		s := newShell(nil, nil, nil, nil, nil, 0, nil)
		s.next = []core.Event{wishFailed(0, safety.ErrReleased)}
		go func() {
			time.Sleep(stopGrace / 2)
			stop()
		}()
		if e := s.await(ctx, nil, 0); e.Kind != core.Stop {
			t.Errorf("told: %s (%s)", e.Kind, e.Why)
		}
		s = newShell(nil, nil, nil, nil, nil, 0, nil)
		s.next = []core.Event{wishFailed(0, safety.ErrReleased)}
		if e := s.await(t.Context(), nil, 0); e.Kind != core.Fault {
			t.Errorf("nobody stopped the run, and told is: %s (%s)", e.Kind, e.Why)
		}
	})
}
