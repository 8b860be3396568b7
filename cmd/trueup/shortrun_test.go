package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"testing"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// A run that was cut short before it read a fixture where it had set it is not told to be recalled, and recall says how to go on.
func TestARunThatReadNothingWhereItSetItIsNotRecalled(t *testing.T) {
	s := &session.Summary{Fixtures: []session.FixtureSummary{{Outcome: &core.Outcome{Result: solve.Predicted, Readings: 1, Before: &core.Step{}, After: &core.Step{Codes: solve.Drive{1}}}}}}
	if anySetting(s) {
		t.Error("recall is advised")
	}
	if _, err := lookOf(s, &session.Compiled{}); err == nil || !strings.Contains(err.Error(), "trueup resume") {
		t.Errorf("recall says: %v", err)
	}
}

// A signal that comes while a run is armed ends it like any other: what was asked for was stopped, not faulty.
func TestASignalWhileARunIsArmedIsAStop(t *testing.T) {
	sig := catchSignals(context.Background(), io.Discard)
	defer sig.stop()
	failed := fmt.Errorf("opening the meter: %w", context.Canceled)
	if stopped(sig.cause(failed)) {
		t.Error("nobody has stopped it")
	}
	sig.cancel(fmt.Errorf("%w by Ctrl-C", errStopped))
	if err := sig.cause(failed); !stopped(err) {
		t.Errorf("%v", err)
	}
}
