package core

import (
	"testing"
	"time"

	"trueup/loop/solve"
)

// benchInBeam is a run in which a lamp stands lit and was read there, and what makes a reading of it at a moment with so many lux of its own.
func benchInBeam(t *testing.T) (*Core, *unit, func(at time.Duration, lux float64) (*Reading, *solve.Reading)) {
	b := newBench(t, 2, nil)
	b.tell(Event{Kind: Begin})
	b.until("the lamp is read", func() bool { return b.c.units[1].tally.kept > 0 && b.c.units[1].own.Y > 0 && !b.c.units[1].early })
	c, u := b.c, b.c.units[1]
	return c, u, func(at time.Duration, lux float64) (*Reading, *solve.Reading) {
		net := solve.Reading{UV: u.own.UV(), Y: lux, HasY: true, SigmaUV: 0.0005, SigmaLnY: 0.007, At: at}
		return &Reading{At: at, Integration: 200 * time.Millisecond, Probe: u.Info.Probe, UV: net.UV, Y: net.Y + c.background[u.Info.Probe].Mean().Y, HasY: true}, &net
	}
}

// Somebody who stands in the beam of a lamp is not the lamp: readings of a fifth of its light, at a setting where it was read before, leave what is known of it as it was for
// as long as a shade lasts. One that stays is the lamp's own; a light that comes and goes all the time is no shade.
func TestSomebodyInTheBeamIsNotTheLamp(t *testing.T) {
	c, u, reads := benchInBeam(t)
	was, at := u.own.Y, c.now
	read := func(share float64, after time.Duration) (aside bool) {
		at += after
		c.now = at
		raw, net := reads(at, share*was)
		if aside = c.inBeam(u, nil, raw, net, true); !aside {
			c.keepReading(u, raw, net)
			c.account(u, solve.Account{Verdict: solve.Accepted})
		}
		return aside
	}
	for k := range 3 {
		if !read(0.2, time.Second) || u.own.Y != was {
			t.Errorf("reading %d in the shade counts: it is taken to give %.1f lux of %.1f", k+1, u.own.Y, was)
		}
	}
	if read(0.99, time.Second) {
		t.Error("the lamp's own light is set aside once nobody stands there")
	}
	if read(0.95, time.Second) || read(0.88, time.Second) {
		t.Error("a lamp that gets dimmer little by little is set aside")
	}
	n := 0
	for read(0.2, time.Second) && n < 20 {
		n++
	}
	if n < 7 || n > 9 {
		t.Errorf("light that stays at a fifth is set aside for %d s, want 8", n)
	}
	read(1, time.Second)
	asides := 0
	for range 10 {
		if read(0.4, 2*time.Second) {
			asides++
		}
		read(1, 2*time.Second)
	}
	if asides > mostShades {
		t.Errorf("a light that comes and goes every two seconds is set aside %d times", asides)
	}
}

// A lamp that has stayed dim for longer than somebody would stand there is dim by itself, also after the look at the dark that it went out for: it is not waited for once more
// each time it is lit there again.
func TestADimLampIsWaitedForOnce(t *testing.T) {
	c, u, reads := benchInBeam(t)
	was, at := u.own.Y, c.now
	asides := func(times int) (n int) {
		for range times {
			at += time.Second
			c.now = at
			raw, net := reads(at, 0.2*was)
			if c.inBeam(u, nil, raw, net, true) {
				n++
			}
		}
		return n
	}
	relit := func() { at += 3 * time.Second; u.at.At = at }
	first := asides(4)
	relit()
	if rest := asides(10); first != 4 || rest > 5 {
		t.Errorf("dim before a look at the dark it is set aside %d times, after it %d times", first, rest)
	}
	relit()
	if n := asides(10); n > 0 {
		t.Errorf("lit once more after it stayed dim it is set aside %d times", n)
	}
}
