package core

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/loop/solve"
)

// Of a visit that waits while a light comes or goes, the readings between two looks at the dark that were alike stay, if those lay close together, and
// its match is made anew from them. Where there is none of them the visit begins anew.
func TestAVisitKeepsWhatWasReadBetweenTwoLooksThatWereAlike(t *testing.T) {
	lamp, sky := colorcalc.XY{X: 0.345, Y: 0.352}.XYZ(100), colorcalc.UV{U: 0.195, V: 0.466}.XYZ(40)
	for what, x := range map[string]struct {
		apart time.Duration // between the two looks
		keeps bool
		left  int
	}{
		"soon": {8 * time.Second, true, 2},
		"late": {25 * time.Second, false, 3},
	} {
		b := newBench(t, 2, nil)
		c, u := b.c, b.c.units[1]
		v := &firstVisit{u: u, phase: inLoop}
		m, err := v.asFirst(c)
		if err != nil {
			t.Fatal(err)
		}
		v.match = m
		look := 10 * time.Second
		for _, at := range []time.Duration{look + 3*time.Second, look + 4*time.Second, look + x.apart + 2*time.Second} {
			r := solve.Reading{UV: lamp.UV(), Y: lamp.Y, HasY: true, SigmaUV: 0.0004, At: at, Drive: make(solve.Drive, len(u.Spec.Channels))}
			m.Observe(r)
			u.given = append(u.given, given{r: r, noise: 0.0004, under: sky})
		}
		u.tally.kept = len(u.given)
		c.closes(u.Info.Probe, look, look+x.apart)
		keeps, more := c.keepsSure(&back{task: v})
		if keeps != x.keeps || more != x.keeps || len(u.given) != x.left || u.tally.kept != x.left || (v.match != m) != x.keeps {
			t.Errorf("a look %v after the other: kept %v, more than before %v, %d readings, %d counted, match made anew %v", x.apart, keeps, more, len(u.given), u.tally.kept, v.match != m)
		}
		if _, more := c.keepsSure(&back{task: v}); more {
			t.Errorf("%s: nothing was read since, and it has more readings that are sure", what)
		}
	}
}

// A lamp that has landed keeps its claim where others can not be read beside a light that is switched; those that have not are given up, once
// it was so of two in a row.
func TestALampThatHasLandedIsNotGivenUpForOthers(t *testing.T) {
	b := newBench(t, 6, nil)
	c := b.c
	probe := c.units[1].Info.Probe
	var there []*unit
	for _, u := range c.units[1:] {
		u.Info.Probe = probe
		there = append(there, u)
	}
	d := &dark{Background: scene.NewBackground(colorcalc.UV{U: 0.25, V: 0.53}.XYZ(20), 5, c.meter(""), 0), switched: true}
	c.background[probe] = d
	by := colorcalc.UV{U: 0.25, V: 0.53}.XYZ(15)
	c.ref = &Reference{UV: colorcalc.UV{U: 0.22, V: 0.49}}
	d.jumps = []scene.Jump{{At: 10 * time.Second, By: by}, {At: 40 * time.Second, By: by.Scale(-1)}, {At: 70 * time.Second, By: by}}
	landed, expected, first, second := there[0], there[1], there[2], there[3]
	for _, u := range []*unit{landed, expected} {
		u.outcome, u.own = &Outcome{Result: solve.Predicted}, c.ref.UV.XYZ(100)
	}
	landed.outcome.Result = solve.Landed
	landed.claim = &claim{uv: colorcalc.UV{U: 0.22, V: 0.49}, light: colorcalc.UV{U: 0.22, V: 0.49}.XYZ(100)}
	for _, u := range []*unit{first, second} {
		if expected.outrun != "" {
			t.Error("given up for one other lamp alone")
		}
		for range mostAnew {
			c.crossed(u, d, true)
		}
		if u.outrun == "" {
			t.Fatalf("%s is still read", u.Info.Name)
		}
	}
	if landed.outrun != "" || landed.claim == nil || !landed.outcome.Landed() {
		t.Errorf("what has landed: %s %s", landed.outcome.Result, landed.outrun)
	}
	if expected.outrun == "" || expected.outcome.Result != solve.Unsettled {
		t.Errorf("what was never read again: %s %q", expected.outcome.Result, expected.outrun)
	}
}

// Two lamps that can not be read are no reason to give others up if one between them was.
func TestOnlyLampsInARowGiveTheOthersUp(t *testing.T) {
	b := newBench(t, 4, nil)
	c := b.c
	d := &dark{Background: scene.NewBackground(colorcalc.UV{U: 0.25, V: 0.53}.XYZ(20), 5, c.meter(""), 0), switched: true}
	for _, u := range c.units[1:] {
		u.Info.Probe = "left"
	}
	c.background["left"] = d
	for k, u := range []*unit{c.units[1], c.units[2]} {
		for range mostAnew {
			c.crossed(u, d, true)
		}
		if k == 0 {
			c.units[3].settled(d)
		}
	}
	if c.units[4].outrun != "" {
		t.Error("a lamp that nobody has tried to read is given up")
	}
}

// A visit beside a light that is switched goes on for minutes, and no longer.
func TestAVisitBesideASwitchedLightEnds(t *testing.T) {
	b := newBench(t, 2, nil)
	c, u := b.c, b.c.units[1]
	d := &dark{Background: scene.NewBackground(colorcalc.UV{U: 0.25, V: 0.53}.XYZ(20), 5, c.meter(""), 0), switched: true}
	c.begins(u)
	for c.now = 0; u.outrun == "" && c.now < time.Hour; c.now += 25 * time.Second {
		c.crossed(u, d, false) // it has more readings each time
	}
	if c.now < longBeside || c.now > longBeside+time.Minute {
		t.Errorf("given up after %v", c.now)
	}
}
