package main

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/stage"
)

// The look of a run is put back by its journal alone: the lamps truly give the light they
// were matched to, until a person ends it; every packet obeys the limits.
func TestTheLookOfARunIsRecalled(t *testing.T) {
	p := startProcesses(t)
	p.waitLine("to see the matched look: trueup recall")
	if code := p.end(); !p.through(code) {
		t.Fatalf("exit code %d:\n%s", code, p.text.String())
	}
	runs, _ := filepath.Glob(filepath.Join(p.out, "*"))
	if len(runs) != 1 {
		t.Fatal(runs)
	}
	matched := p.summary()
	p.wire.forget()
	p.launch(p.exe, "recall", filepath.Base(runs[0]), "--yes", "--out", p.out)
	p.waitLine("the look stands: 2 fixtures")
	truth := map[string]colorcalc.UV{}
	stands := func() bool {
		all, err := stage.AskTruth(context.Background(), p.stage.ready.Truth)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range all {
			truth[l.Fixture] = colorcalc.XY{X: l.X, Y: l.Y}.UV()
		}
		for _, f := range matched.Fixtures[1:] {
			if o := f.Final(); o != nil && o.Final != nil && !(truth[f.Name].Dist(o.Final.UV) <= 2*trueLimit) { // both are cold again
				return false
			}
		}
		return true
	}
	for end := time.Now().Add(longWait); !stands(); time.Sleep(100 * time.Millisecond) { // of real time: light follows the wire
		if time.Now().After(end) {
			t.Fatalf("the lamps truly stand at %v, they were matched at %+v", truth, matched.Fixtures)
		}
	}
	p.match.Process.Signal(os.Interrupt)
	if code := p.end(); code != exitLanded {
		t.Errorf("exit code %d:\n%s", code, p.text.String())
	}
	p.checkPackets(true)
}
