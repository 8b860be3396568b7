package main

import (
	"context"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"
)

// Once a rig has been matched, its rehearsal tells how long the run takes, by the rig's limits and the pace that the
// meter had. The real run goes over sockets, on a machine that may have other work: the bound here is wide, and the
// figures are printed.
func TestARehearsalPredictsHowLongTheRunTakes(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") != "1" {
		t.Skip("two minutes of real time; TRUEUP_LONG=1 runs it")
	}
	t.Parallel()
	for _, rig := range []string{"demo", "led-wall"} {
		t.Run(rig, func(t *testing.T) {
			t.Parallel()
			ctx, cancel := context.WithTimeout(t.Context(), 4*time.Minute)
			defer cancel()
			dir, path := exampleCopy(t), rig+"/rig.yaml"
			sacn, meter := standStage(ctx, t, dir, path)
			at := "--stage=" + sacn + "," + meter
			began := time.Now()
			out, err := program(ctx, dir, "match", path, at, "--live", "--yes").CombinedOutput()
			took := time.Since(began)
			if _, exit := err.(interface{ ExitCode() int }); err != nil && !exit {
				t.Fatalf("%v\n%s", err, out)
			}
			began = time.Now()
			out, err = program(ctx, dir, "match", path, at, "--forget").CombinedOutput()
			said := regexp.MustCompile(`the run will take about (.+) \(predicted\)`).FindSubmatch(out)
			if err != nil || said == nil {
				t.Fatalf("%v\n%s", err, out)
			}
			predicted, err := time.ParseDuration(strings.NewReplacer(" ", "", "min", "m").Replace(string(said[1])))
			if err != nil {
				t.Fatal(err)
			}
			off := predicted.Seconds()/took.Seconds() - 1
			t.Logf("took %.1f s; predicted %v, %+.0f %%, in %v", took.Seconds(), predicted, 100*off, time.Since(began))
			if off < -0.7 || off > 0.5 { // a busy machine makes a run longer, none makes it shorter
				t.Errorf("predicted %v for a run that took %v\n%s", predicted, took, out)
			}
		})
	}
}
