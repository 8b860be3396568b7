package core

import (
	"math"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/loop/solve"
)

// What was read of a reference that stands beside other lamps counts for nothing where the background has jumped since the look at the dark before it: lamps
// are matched to where it was known to be, and it is read again. What was read before that look stays.
func TestAReferenceReadBesideALightThatCameIsTakenBack(t *testing.T) {
	for _, since := range []time.Duration{time.Second, time.Hour} {
		b := newBench(t, 3, func(c *Config) { c.Plan.Target.Reference = "wash 0" })
		b.tell(Event{Kind: Begin})
		b.until("the reference is read", func() bool { return b.c.moving != nil })
		c := b.c
		u, was := c.find("wash 0"), *c.ref
		r := &reference{again: true, most: nextReference, u: u}
		for k := range nextReference {
			r.uv = append(r.uv, colorcalc.UV{U: was.UV.U + 0.006, V: was.UV.V + 0.002})
			r.lnY = append(r.lnY, math.NaN())
			r.light = append(r.light, nil)
			r.at = append(r.at, c.now+time.Duration(k+1)*300*time.Millisecond)
		}
		r.follow(c)
		if c.ref.UV.Dist(was.UV) < 0.004 {
			t.Fatalf("it went by %.4f only", c.ref.UV.Dist(was.UV))
		}
		look := c.moving.Last() - since
		if since == time.Hour {
			look = c.moving.Last()
		}
		c.takesRefBack(u.Info.Probe, []scene.Jump{{Since: look, At: look + time.Second, By: colorcalc.UV{U: 0.28, V: 0.53}.XYZ(40)}})
		back := c.ref.UV.Dist(was.UV) < 1e-9
		_, again := c.due(&secondVisit{u: c.units[2]}).(*reference)
		if want := since == time.Second; back != want || again != want {
			t.Errorf("a look %v before it: taken back %v, read again %v", since, back, again)
		}
	}
}

// A light that comes and goes all the time beside such a reference is not told as a reference that goes to and fro, and lamps land.
func TestASwitchedLightIsNoReferenceThatGoesToAndFro(t *testing.T) {
	light := colorcalc.UV{U: 0.28, V: 0.53}.XYZ(12)
	for _, every := range []float64{21, 26, 31, 37} {
		b := newBench(t, 6, func(c *Config) {
			c.Plan.Target.Reference = "wash 0"
			for i := range c.Units {
				c.Units[i].Info.Probe = "left"
			}
		})
		b.read = func(_ Ask, r *Reading) {
			if int(r.At.Seconds()/every)%2 == 1 {
				z := r.XYZ().Add(light)
				r.UV, r.Y = z.UV(), z.Y
			}
		}
		b.ended(nil)
		for _, e := range b.log {
			if strings.Contains(e.Note, "goes to and fro") {
				t.Errorf("switched every %g s: %s", every, e.Note)
			}
		}
		for _, u := range b.c.units[2:] {
			if u.outcome == nil || u.outcome.Result != solve.Landed {
				t.Errorf("switched every %g s: %s: %+v", every, u.Info.Name, u.outcome)
			}
		}
	}
}

// A light that goes out between a look at the dark and a reading of a reference that stands beside lamps does not end the run: the dark is read again,
// and then the reference. One that gives no light ends it.
func TestALightThatGoesOutBeforeTheReferenceIsReadDoesNotEndTheRun(t *testing.T) {
	for _, again := range []bool{false, true} {
		b := newBench(t, 3, func(c *Config) {
			c.Plan.Target.Reference = "wash 0"
			for i := range c.Units {
				c.Units[i].Info.Probe = "left"
			}
		})
		b.p.ambient = 600
		out := func() bool { return b.c.background["left"] != nil }
		if again {
			out = func() bool {
				_, reads := b.c.main.task.(*reference)
				return b.c.moving != nil && reads && !b.c.find("wash 1").bright
			}
		}
		b.tell(Event{Kind: Begin})
		b.until("the light goes out", out)
		b.p.ambient = 1
		b.until("the end", b.over)
		for _, u := range b.c.units[2:] {
			if u.outcome == nil || u.outcome.Result != solve.Landed {
				t.Errorf("again %v: %s: %+v", again, u.Info.Name, u.outcome)
			}
		}
		if n := b.notes(KindStop); n != "" {
			t.Errorf("again %v: the run stopped: %s", again, n)
		}
	}
	b := newBench(t, 2, func(c *Config) {
		c.Plan.Target.Reference = "wash 0"
		c.Units[1].Info.Probe = "left"
	})
	b.read = func(a Ask, r *Reading) {
		if !a.Dark {
			r.UV, r.Y = colorcalc.XY{X: 0.40, Y: 0.39}.UV(), b.p.ambient
		}
	}
	b.tell(Event{Kind: Begin})
	b.until("the end", b.over)
	b.holds("note", b.notes(KindStop), "the reference: no light")
}

// A light that gives about as much as the reference and goes out after the look at the dark, such as a lamp that was being switched on, leaves the reference
// no more than the dark seemed to give. The dark is read again before the run ends for that.
func TestALightAsStrongAsTheReferenceThatGoesOutDoesNotEndTheRun(t *testing.T) {
	own := 0.0
	for pass := range 2 { // the first tells what the reference gives
		b := newBench(t, 3, func(c *Config) {
			c.Plan.Target.Reference = "wash 0"
			for i := range c.Units {
				c.Units[i].Info.Probe = "left"
			}
		})
		if pass == 1 {
			b.p.ambient = own
		}
		b.read = func(_ Ask, r *Reading) {
			if pass == 0 && b.c.ref == nil && b.c.background["left"] != nil {
				own = max(own, r.Y)
			}
		}
		b.tell(Event{Kind: Begin})
		b.until("the light goes out", func() bool { return b.c.background["left"] != nil })
		b.p.ambient = 1
		b.until("the end", b.over)
		if n := b.notes(KindStop); n != "" {
			t.Errorf("pass %d, beside %.0f lux: the run stopped: %s", pass, own, n)
		}
		if own <= 1 {
			t.Fatalf("the reference gave %g lux", own)
		}
	}
}
