package session

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// Nobody is hurried who sets a lamp by hand: a quarter of an hour on a ladder is no fault of
// the lamp.
func TestAPersonMayTakeTheirTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		units := fakeUnits()[1:2]
		units[0].Dark, units[0].Settings = nil, func(solve.Drive) []Setting { return nil }
		cfg := core.Config{Work: core.ByHand, Plan: core.DefaultPlan(), Units: []core.Unit{units[0].Unit}}
		cfg.Plan.Target.UV, cfg.Plan.Target.Text, cfg.Plan.SecondVisit = nominalUV[1], "green", false
		machine, err := core.New(cfg)
		if err != nil {
			t.Fatal(err)
		}
		ctx, stop := context.WithCancel(t.Context())
		wire := NewHandWire(units, func(ctx context.Context, _ HandStep) error {
			select {
			case <-time.After(15 * time.Minute):
				stop()
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		})
		var held string
		listen := func(e Entry) {
			if e.Outcome != nil && ctx.Err() == nil {
				held = e.Outcome.Reason
			}
		}
		newShell(machine, units, wire, nil, discard{listen}, cfg.Plan.ReadTimeout, nil).run(ctx)
		if held != "" {
			t.Errorf("held while the person was at it: %s", held)
		}
	})
}

// Who asks for something of a run that is over does not wait for ever.
func TestAskedOfARunThatIsOver(t *testing.T) {
	r := &Run{control: make(chan order), over: make(chan struct{})}
	close(r.over)
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	r.Hold(ctx)
	if ctx.Err() != nil {
		t.Error("it waited")
	}
}
