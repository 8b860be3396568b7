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
	if code := p.end(); code != exitLanded {
		t.Fatalf("exit code %d:\n%s", code, p.text.String())
	}
	runs, _ := filepath.Glob(filepath.Join(p.out, "*"))
	if len(runs) != 1 {
		t.Fatal(runs)
	}
	p.wire.forget()
	p.launch(p.exe, "recall", filepath.Base(runs[0]), "--yes", "--out", p.out)
	p.waitLine("the look stands: 2 lamps")
	time.Sleep(500 * time.Millisecond) // of real time: light follows the wire
	all, err := stage.AskTruth(context.Background(), p.stage.ready.Truth)
	if err != nil {
		t.Fatal(err)
	}
	truth := map[string]colorcalc.UV{}
	for _, l := range all {
		truth[l.Fixture] = colorcalc.XY{X: l.X, Y: l.Y}.UV()
	}
	for _, name := range []string{"wash", "cob"} {
		if d := truth[name].Dist(truth["lamp"]); !(d <= 2*trueLimit) { // both are cold again
			t.Errorf("%s truly stands %.4f from the reference", name, d)
		}
	}
	p.match.Process.Signal(os.Interrupt)
	if code := p.end(); code != exitLanded {
		t.Errorf("exit code %d:\n%s", code, p.text.String())
	}
	p.checkPackets(true)
}
