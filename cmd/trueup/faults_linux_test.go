package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/loop/session"
	"trueup/safety"
	second "trueup/safety/check"
)

// checkOverlay runs the second opinion over what left the program beside a desk
// whose look never changes where lamps are. Times are treated as by
// checkPackets. It returns the last look that was sent, and how often the
// stream was terminated.
func (p *processRun) checkOverlay(look []byte) (last []byte, goodbyes int) {
	p.t.Helper()
	c, err := session.Compile(p.rig)
	if err != nil {
		p.t.Fatal(err)
	}
	cfg := safety.Config{Limits: p.rig.Safety.Limits, Heads: c.Heads, Desk: besides{}}
	p.judge(cfg, func(levels []byte) []byte {
		base := bytes.Clone(levels) // slots without a lamp pass through
		copy(base, look[:14])
		return base
	}, func(_ *second.Checker, _ time.Time, n int) { goodbyes = n })
	for _, d := range p.wire.packets() {
		if len(d.data) >= 126 && d.data[21] == 4 && d.data[112]&0x40 == 0 {
			last = d.data[126:]
		}
	}
	return last, goodbyes
}

// givenBack fails unless the stream ended in order, on the desk's look.
func (p *processRun) givenBack(look []byte) {
	p.t.Helper()
	if last, goodbyes := p.checkOverlay(look); goodbyes != 3 || !bytes.Equal(last[:14], look[:14]) {
		p.t.Errorf("%d goodbyes after %v, the desk has %v\n%s", goodbyes, last[:14], look[:14], p.text.String())
	}
}

// besides tells the second opinion that there is a desk; its look comes with the
// packets.
type besides struct{}

func (besides) Look(dmx.Universe, *[512]byte) (int, sacn.BaseState) { return 0, sacn.BaseNone }

// The desk falls silent while lamps are being matched: its last look is held,
// the match goes on, and in the end the stream stays up, with the desk's last
// look on it, until the desk sends again. The person is told.
func TestDeskThatDiesIsHeldUntilItReturns(t *testing.T) {
	if !inNamespace(t, "TestDeskThatDiesIsHeldUntilItReturns") {
		return
	}
	p, d, stop := besideADesk(t)
	p.waitLine("background at probe")
	stop()
	p.waitLine("the desk is silent")
	before := len(p.wire.packets())
	p.waitPackets(before + 4) // a light that stands is said once a second (E1.31 6.6.2)
	look := bytes.Clone(d.slots[:])
	if last, goodbyes := p.checkOverlay(look); goodbyes > 0 || !bytes.Equal(last[:14], look[:14]) {
		t.Errorf("%d goodbyes, and %v on the wire while the desk, which had %v, is silent", goodbyes, last[:14], look[:14])
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); d.run(ctx) }()
	code := p.end()
	cancel()
	<-done
	if !p.through(code) {
		t.Errorf("exit code %d:\n%s", code, p.text.String())
	}
	p.givenBack(look)
}

// A desk that dies for good: Ctrl-C leaves at once, with the desk's last look.
func TestDeskThatNeverReturnsCanBeLeft(t *testing.T) {
	if !inNamespace(t, "TestDeskThatNeverReturnsCanBeLeft") {
		return
	}
	p, d, stop := besideADesk(t)
	p.waitLine("background at probe")
	stop()
	p.waitLine("the desk is silent")
	p.match.Process.Signal(os.Interrupt)
	asked := time.Now()
	if code := p.end(); !p.through(code) {
		t.Errorf("exit code %d:\n%s", code, p.text.String())
	}
	if took := time.Since(asked); took > time.Minute { // it would wait for the desk for ever
		t.Errorf("it took %v to leave", took)
	}
	p.givenBack(d.slots[:])
}

// The network dies for longer than receivers wait, in the middle of a match:
// when it is back nothing jumps, the lamps are handed back to the desk, and the
// run says why it ended.
func TestNetworkThatDiesEndsTheRunGently(t *testing.T) {
	if !inNamespace(t, "TestNetworkThatDiesEndsTheRunGently") {
		return
	}
	p, d, stop := besideADesk(t)
	p.waitRead("wash", 1)
	p.without(8 * time.Second)
	code := p.end()
	stop()
	if code == exitLanded {
		t.Errorf("exit code %d", code)
	}
	if text := p.text.String(); !strings.Contains(text, "error:") {
		t.Errorf("nothing is said of it:\n%s", text)
	}
	p.givenBack(d.slots[:])
}

// A network that stumbles for less than receivers wait: nothing moves meanwhile,
// the ramp under way goes on from where the last packet left it, and the lamp
// lands.
func TestNetworkThatStumblesIsBorne(t *testing.T) {
	if !inNamespace(t, "TestNetworkThatStumblesIsBorne") {
		return
	}
	p, d, stop := besideADesk(t)
	p.waitRead("wash", 1)
	p.waitPackets(len(p.wire.packets()) + 30) // into the ramp that follows
	if away := p.without(1200 * time.Millisecond); away > 2*time.Second {
		stop()
		t.Skipf("the machine is too busy: the network was away for %v, receivers wait for 2.5 s", away)
	}
	code := p.end()
	stop()
	if !p.through(code) {
		t.Errorf("exit code %d:\n%s", code, p.text.String())
	}
	p.givenBack(d.slots[:])
}

// without takes the network of the namespace away for a while: the fault has to
// last, so this waits in real time. It returns how long it was away, which a busy machine draws out.
func (p *processRun) without(d time.Duration) time.Duration {
	p.t.Helper()
	began := time.Now()
	link := func(state string) {
		if out, err := exec.Command("ip", "link", "set", "lo", state).CombinedOutput(); err != nil {
			p.t.Fatalf("%v: %s", err, out)
		}
	}
	link("down")
	before := len(p.wire.packets())
	time.Sleep(d)
	if n := len(p.wire.packets()) - before; n > 3 {
		p.t.Fatalf("%d packets while the network was down: the test has lost what it watches", n)
	}
	link("up")
	return time.Since(began)
}

// waitPackets waits until so many packets came by.
func (p *processRun) waitPackets(n int) {
	p.t.Helper()
	for end := time.Now().Add(longWait); len(p.wire.packets()) < n; {
		if time.Now().After(end) {
			p.t.Fatalf("%d packets, waited for %d", len(p.wire.packets()), n)
		}
		time.Sleep(20 * time.Millisecond) // asking again, not waiting for luck
	}
}
