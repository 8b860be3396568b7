package main

import (
	"os"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/safety"
)

// A matched look is put back and kept until a person ends it: every packet obeys the limits, light is handed back,
// and the journal says how the probe was kept.
func TestALookIsKeptWithinTheLimits(t *testing.T) {
	p := startProcesses(t)
	if code := p.end(); !p.through(code) {
		t.Fatalf("match: exit code %d:\n%s", code, p.text.String())
	}
	p.wire.forget() // the packets of the match are judged by its own test
	p.launch(p.exe, "keep", p.rig.Path, "--yes", "--out", p.out)
	p.waitLine("the look stands: 2 fixtures at 1 probe,")
	time.Sleep(8 * time.Second) // real time: two passages of readings or more, whatever they bring
	p.match.Process.Signal(os.Interrupt)
	if code := p.end(); code != exitLanded && code != exitNotAll { // in real time the light may be doubtful
		t.Errorf("keep: exit code %d:\n%s", code, p.text.String())
	}
	p.checkPackets(true)
	if text := p.text.String(); !strings.Contains(text, "trueup recall "+p.out) {
		t.Errorf("it does not say how the matched look comes back:\n%s", text)
	}
	if text := p.text.String(); !strings.Contains(text, `probe "mark", 2 fixtures together: `) {
		t.Errorf("it does not say how the probe was kept:\n%s", text)
	}
}

// With people aloft, and beside a desk, no lamp is put out before a look is kept either.
func TestNothingIsPutOutToKeepALook(t *testing.T) {
	stood := &session.Outcome{Result: solve.Landed, After: &core.Step{Codes: []uint32{1, 2, 3}}, Final: &core.Stand{UV: colorcalc.UV{U: 0.2, V: 0.5}}}
	s := &session.Summary{Reference: &session.Reference{UV: colorcalc.UV{U: 0.2, V: 0.5}},
		Fixtures: []session.FixtureSummary{{FixtureInfo: session.FixtureInfo{Name: "wash"}, Outcome: stood}}}
	for _, c := range []struct {
		mode  rig.Mode
		aloft bool
		lit   bool
	}{{rig.Own, false, false}, {rig.Own, true, true}, {rig.Overlay, false, true}} {
		j := session.Job{Rig: &rig.Rig{}, Compiled: &session.Compiled{Heads: make([]safety.Head, 1), Units: []*session.Unit{{Unit: core.Unit{Info: session.FixtureInfo{Name: "wash"}}}}}}
		j.Rig.Output.Mode, j.Plan.KeepLit = c.mode, c.aloft
		if err := keepAsMatched(&j, s); err != nil || j.Plan.KeepLit != c.lit {
			t.Errorf("%+v: nothing is put out: %v, %v", c, j.Plan.KeepLit, err)
		}
	}
}
