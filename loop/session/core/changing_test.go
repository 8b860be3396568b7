package core

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/loop/solve"
)

// Beside a light that goes on and off all the time another one that comes and stays is seen by the next look at the dark, and what was read since the look before does not
// count; what that light itself does takes nothing back. The look is asked for at the end of a round and by a level that leapt, where something is claimed.
func TestAnotherLightBesideOneThatChangesIsSeen(t *testing.T) {
	screen, warm := colorcalc.UV{U: 0.2, V: 0.45}, colorcalc.UV{U: 0.25, V: 0.52}
	off, on := screen.XYZ(1), screen.XYZ(5)
	for what, x := range map[string]struct {
		read []colorcalc.XYZ
		seen bool
	}{
		"on":                      {[]colorcalc.XYZ{on}, false},
		"off":                     {[]colorcalc.XYZ{off}, false},
		"by turns":                {[]colorcalc.XYZ{off, on}, false},
		"40 lux more, on":         {[]colorcalc.XYZ{on.Add(warm.XYZ(40))}, true},
		"40 lux more, by turns":   {[]colorcalc.XYZ{on.Add(warm.XYZ(40)), off.Add(warm.XYZ(40))}, true},
		"somebody, and then gone": {[]colorcalc.XYZ{on.Add(warm.XYZ(40)), on, on, on, on, on}, false},
	} {
		b := newBench(t, 2, func(c *Config) {
			c.Plan.Tolerance, c.Plan.Target = 0.0020, Target{UV: colorcalc.UV{U: 0.22, V: 0.5}}
			c.Units[1].Info.Probe = "left"
		})
		b.tell(Event{Kind: Begin})
		b.until("the dark is read", func() bool { return b.c.background["left"] != nil && b.c.ref != nil })
		c, d, u := b.c, b.c.background["left"], b.c.units[1]
		passage := func(from time.Duration, n int, of ...colorcalc.XYZ) (got []Reading) {
			for k := range n {
				z := of[k*len(of)/n]
				got = append(got, Reading{UV: z.UV(), Y: z.Y, HasY: true, At: from + time.Duration(k)*300*time.Millisecond})
			}
			return got
		}
		start := c.now
		watched := passage(start, 16, off, on, off, on)
		for k := range 3 {
			by := on.Sub(off)
			if k%2 > 0 {
				by = by.Scale(-1)
			}
			d.jumps = append(d.jumps, scene.Jump{At: start + time.Duration(k)*time.Second, By: by})
		}
		c.changesAlways(d, watched, 3, watched[15].At)
		d.when = watched[15].At
		u.own = colorcalc.UV{U: 0.22, V: 0.5}.XYZ(350)
		d.light = u.own
		c.renounce("left", d, nil)
		u.read = d.when + 5*time.Second
		u.outcome = &Outcome{Result: solve.Landed}
		u.claim = &claim{uv: u.own.UV(), light: u.own, under: d.Mean(), sd: 0.0001, at: u.read}
		d.wanted = true
		if c.suspected(c.lane.task) == nil {
			t.Fatalf("%s: an odd reading beside a light that changes asks for no look at the dark", what)
		}
		ask := (&backgrounds{round: true, only: "left"}).step(c, input{})
		if !ask.dark {
			t.Fatalf("%s: after a round the dark is not read", what)
		}
		c.now = u.read + 20*time.Second
		got := passage(c.now-9*time.Second, 30, x.read...)
		if more := !d.lookedOn(c, got[:nextDark]); more != (x.seen || what == "somebody, and then gone") {
			t.Errorf("%s: looked on for %v", what, more)
		}
		c.nextBackground("left", d, got, got)
		if taken := u.claim == nil || c.holds(u.claim) < keepAt; taken != x.seen {
			t.Errorf("%s: what was claimed of a lamp is taken back: %v", what, taken)
		}
	}
}

// What was claimed of a lamp between looks at the dark that were all alike is not taken back since a light there begins to blink later. Where the looks are too few to tell that it did
// not before, it is.
func TestWhatWasClaimedBeforeALightBlinksStays(t *testing.T) {
	s := time.Second
	jumps := func(at ...time.Duration) (all []scene.Jump) {
		for k, m := range at {
			by := colorcalc.XYZ{X: 15, Y: 16, Z: 17}
			if k%2 > 0 {
				by = by.Scale(-1)
			}
			all = append(all, scene.Jump{Since: m - s, At: m, By: by})
		}
		return all
	}
	for what, x := range map[string]struct {
		jumps   []scene.Jump
		looks   []time.Duration
		at      time.Duration
		claimed bool
	}{
		"before it began":                       {jumps(205*s, 218*s, 231*s, 237*s), []time.Duration{64 * s, 90 * s, 120 * s, 171 * s, 198 * s}, 150 * s, true},
		"after the last look before it":         {jumps(205*s, 218*s, 231*s, 237*s), []time.Duration{64 * s, 90 * s, 120 * s, 171 * s, 198 * s}, 202 * s, false},
		"while it blinks":                       {jumps(205*s, 218*s, 231*s, 237*s), []time.Duration{64 * s, 90 * s, 120 * s, 171 * s, 198 * s}, 220 * s, false},
		"few looks":                             {jumps(205*s, 218*s, 231*s, 237*s), []time.Duration{64 * s, 171 * s, 198 * s}, 150 * s, false},
		"looks close together":                  {jumps(205*s, 218*s, 231*s, 237*s), []time.Duration{64 * s, 195 * s, 196 * s, 197 * s, 198 * s}, 150 * s, false},
		"between a door and a light":            {jumps(20*s, 44*s, 205*s, 218*s, 231*s), []time.Duration{44 * s, 70 * s, 100 * s, 130 * s, 160 * s, 198 * s}, 150 * s, true},
		"before a door, and then a light":       {jumps(20*s, 44*s, 205*s, 218*s, 231*s), []time.Duration{5 * s, 44 * s, 70 * s, 100 * s, 130 * s, 160 * s, 198 * s}, 10 * s, false},
		"beside a slow one that went on and on": {jumps(65*s, 125*s, 185*s), []time.Duration{5 * s, 20 * s, 35 * s, 50 * s, 64 * s}, 40 * s, false},
	} {
		b := newBench(t, 2, func(c *Config) {
			c.Plan.Target = Target{UV: colorcalc.UV{U: 0.22, V: 0.5}}
			c.Units[1].Info.Probe = "left"
		})
		b.tell(Event{Kind: Begin})
		b.until("the dark is read", func() bool { return b.c.background["left"] != nil && b.c.ref != nil })
		c, d, u := b.c, b.c.background["left"], b.c.units[1]
		d.jumps, d.looks, c.now = x.jumps, x.looks, 240*s
		u.own = colorcalc.UV{U: 0.22, V: 0.5}.XYZ(200)
		d.light = u.own
		u.outcome = &Outcome{Result: solve.Landed}
		u.claim = &claim{uv: u.own.UV(), light: u.own, under: d.Mean(), sd: 0.0001, at: x.at}
		c.renounce("left", d, nil)
		if u.claim != nil != x.claimed || u.outcome.Landed() != x.claimed {
			t.Errorf("%s: it is claimed %v, want %v", what, u.claim != nil, x.claimed)
		}
	}
}
