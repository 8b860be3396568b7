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
	d := m.Next(0)
	m.Observe(l.read(d.Drive, time.Second))
	m.turn(m.retold(&m.rivals()[3]))
	m.odds = saidOdds
	m.accuse()
	if m.fault.cause != DeadEmitter {
		t.Fatalf("not said: %q", m.fault.cause)
	}
	m.odds = saidOdds - 1
	m.withdraw()
	if m.said || m.fault.cause != NoCause || m.fault.why != "" {
		t.Errorf("still said: %q %s", m.fault.cause, m.fault.why)
	}
}

// One odd first reading does not hide a dead emitter for good: much evidence passes it by. It did hide every one of these; a lamp that lands
// before so much is known is not to be had.
func TestAnOddFirstReadingDoesNotHideADeadEmitter(t *testing.T) {
	s := sevenSpec(5, 65535)
	const runs = 40
	named := 0
	for k := range uint64(runs) {
		l := spoilt(s, 7500+k, 3)
		m := start(t, s, warmWhite, nil)
		at, now := time.Second, Drive(nil)
		for n := range 14 {
			d := m.Next(at)
			if d.Action == Done {
				break
			}
			if d.Action == Move {
				now = d.Drive
			}
			r := l.read(now, at)
			if n == 0 { // further off than the story would have it, and yet nearer to it than to the profile's
				r.UV.U, r.UV.V = r.UV.U+0.006, r.UV.V+0.006
			}
			m.Observe(r)
			at += time.Second
		}
		if m.fault.cause == DeadEmitter {
			named++
		}
	}
	if named < runs/8 {
		t.Errorf("named in %d of %d", named, runs)
	}
}
