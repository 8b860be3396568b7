package main

import (
	"context"
	"testing"
	"time"

	"trueup/cmd/trueup/page"
	"trueup/loop/session/core"
)

// A match that is ordered at the page watches lamps for as long as it was told.
func TestAMatchOrderedAtThePageWatches(t *testing.T) {
	jobs := jobsOf(t, "{color: 5000 K, level: 25 %}")
	for seconds, want := range map[int]time.Duration{0: 0, 8: core.UsualWatch} {
		q, err := jobs.prepare(context.Background(), page.Order{Work: "match", Watch: seconds})
		if err != nil {
			t.Fatal(err)
		}
		if q.Job.Plan.Watch != want {
			t.Errorf("%d s: watched for %v", seconds, q.Job.Plan.Watch)
		}
		if !(q.Job.Plan.WatchShare > 0) {
			t.Errorf("%d s: none is watched unasked", seconds)
		}
	}
	q, err := jobs.prepare(context.Background(), page.Order{Work: "match", WatchNone: true})
	if err != nil {
		t.Fatal(err)
	}
	if q.Job.Plan.Watch != 0 || q.Job.Plan.WatchShare != 0 {
		t.Errorf("none wanted: watched for %v, and unasked for %g of the run", q.Job.Plan.Watch, q.Job.Plan.WatchShare)
	}
}
