package solve

import (
	"testing"
	"time"
)

// An emitter that is called dead, and whose own light shows when it is driven otherwise, is not called so any more, and not again.
func TestItsOwnLightRefutesADeadEmitter(t *testing.T) {
	s := sevenSpec(5, 65535)
	for k := range uint64(20) {
		l := unit(s, 7300+k, 1)
		m := start(t, s, warmWhite, nil)
		on, off := Drive{40000, 40000, 20000, 30000, 30000}, Drive{40000, 40000, 20000, 30000, 0}
		at := time.Second
		see := func(d Drive) {
			m.Observe(l.read(d, at))
			at += time.Second
		}
		see(on)
		see(on)
		m.turn(m.retold(&m.rivals()[4])) // as a wild reading may have it
		m.say()
		see(off)
		see(off)
		if m.as != nil || m.said || m.fault.cause != NoCause {
			t.Errorf("lamp %d: %q after its light went out with it: %s", k, m.fault.cause, m.fault.why)
		}
		see(on)
		see(off)
		if m.as != nil {
			t.Errorf("lamp %d: called %q once more", k, m.as.name)
		}
	}
}

// What is said of an emitter is taken back when the evidence for it is no more what it takes to say it.
func TestADeadEmitterIsSaidWhileItsEvidenceLasts(t *testing.T) {
	s := sevenSpec(5, 65535)
	m := start(t, s, warmWhite, nil)
	l := spoilt(s, 31, 3)
	var now Drive
	for at := time.Second; !m.said && at < 9*time.Second; at += time.Second {
		if d := m.Next(at); d.Action == Move {
			now = d.Drive
		}
		m.Observe(l.read(now, at))
	}
	if m.fault.cause != DeadEmitter {
		t.Fatalf("not said: %q", m.fault.cause)
	}
	m.odds = saidOdds - 1
	m.withdraw()
	if m.said || m.fault.cause != NoCause || m.fault.why != "" {
		t.Errorf("still said: %q %s", m.fault.cause, m.fault.why)
	}
}
