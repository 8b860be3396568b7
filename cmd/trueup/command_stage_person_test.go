package main

import (
	"context"
	"fmt"
	"io"
	"net/netip"
	"strings"
	"sync"
	"testing"

	"github.com/rs/zerolog"

	"trueup/loop/session/rig"
	"trueup/loop/stage"
)

// A person without hardware can play the focus call: turn the knobs of a fixture
// on the simulated stage as a prompt says, put it out, and read the meter, which
// shows what the light does. A slip is answered in words.
func TestAPersonPlaysTheKnobsOnStage(t *testing.T) {
	r, err := rig.Load("../../examples/interview/rig.yaml")
	if err != nil {
		t.Fatal(err)
	}
	f, err := stage.LoadFile("../../examples/interview/stage.yaml")
	if err != nil {
		t.Fatal(err)
	}
	h, err := stage.Build(r, f)
	if err != nil {
		t.Fatal(err)
	}
	s, err := stage.Listen(h, stage.ServeConfig{SACN: netip.AddrPortFrom(loopback, 0), Meter: "127.0.0.1:0", Log: zerolog.Nop()})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	var serving sync.WaitGroup
	serving.Go(func() { _ = s.Run(ctx) })
	defer serving.Wait()
	defer cancel()

	p := &person{rig: r, stage: s, out: io.Discard}
	if !p.wanted() || !strings.Contains(p.help(), "key CCT 5600 K") {
		t.Fatalf("the help names nothing to turn: %q", p.help())
	}
	do := func(line, want string) string {
		t.Helper()
		said, err := p.do(ctx, line)
		if err != nil {
			said = err.Error()
		}
		if !strings.Contains(said, want) {
			t.Errorf("%s: %q, want %q in it", line, said, want)
		}
		return said
	}
	lux := func() (v float64) {
		t.Helper()
		var x, y float64
		if _, err := fmt.Sscanf(do("read", "the meter shows: "), "the meter shows: %f %f %f", &x, &y, &v); err != nil {
			t.Error(err)
		}
		return v
	}
	do("fill off", "fill is out")
	do("key off", "key is out")
	dark := lux()
	do("key INT 80 %, CCT 4300 K", "key shows CCT 4300 K, G/M 0, INT 80 %")
	if lit := lux(); !(lit > dark+50) {
		t.Errorf("%.1f lux lit, %.1f out: the meter sees no difference", lit, dark)
	}
	do("key INT 400", "want a number from 0 to 100")
	do("key FOO 3", "its knobs are CCT, G/M, INT")
	do("background INT 3", "want a fixture that is set by hand (key, fill)")
	do("read x", `there is no probe called "x"`)
}
