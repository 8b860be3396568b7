package main

import (
	"os"
	"strings"
	"testing"
	"time"
)

// A matched look is put back and kept until a person ends it: every packet obeys the limits, light is handed back,
// and the journal says how the probe was kept.
func TestALookIsKeptWithinTheLimits(t *testing.T) {
	p := startProcesses(t)
	if code := p.end(); code != exitLanded {
		t.Fatalf("match: exit code %d:\n%s", code, p.text.String())
	}
	p.wire.mu.Lock()
	p.wire.seen = nil // the packets of the match are judged by its own test
	p.wire.mu.Unlock()
	p.launch(p.exe, "keep", p.rig.Path, "--yes", "--out", p.out)
	p.waitLine("the look stands: 2 lamps at 1 probes")
	time.Sleep(8 * time.Second) // real time: two passages of readings or more, whatever they bring
	p.match.Process.Signal(os.Interrupt)
	if code := p.end(); code != exitLanded && code != exitNotAll { // in real time the light may be doubtful
		t.Errorf("keep: exit code %d:\n%s", code, p.text.String())
	}
	p.checkPackets(true)
	if text := p.text.String(); !strings.Contains(text, `probe "mark", 2 lamps together: `) {
		t.Errorf("it does not say how the probe was kept:\n%s", text)
	}
}
