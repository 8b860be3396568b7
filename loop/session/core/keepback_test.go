package core

import (
	"testing"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/loop/solve"
)

// A light that leaps after a trim is brought back by taking that back. Only a fixture whose light comes back so, twice, is left
// alone: with another light at the probe it would not have.
func TestATrimAfterWhichTheLightLeapsIsTakenBack(t *testing.T) {
	for _, ours := range []bool{true, false} {
		b := newBench(t, 1, func(c *Config) { c.Work, c.Plan.Target = Rehearse, Target{Text: "white", UV: window} })
		b.c.ref = &Reference{UV: window}
		leapt := colorcalc.UV{U: window.U - 0.005, V: window.V}
		l := &keptLamp{unit: b.c.units[0], standing: Standing{Result: solve.Landed, UV: window, Lux: 100}, back: solve.Drive{1, 2, 3}}
		p := &kept{lamps: []*keptLamp{l}, track: scene.NewReference(leapt, 3, 0.0003, 0), from: window, last: colorcalc.UV{V: 0.0002}, shift: colorcalc.UV{V: 0.0002}}
		if len(p.takeBack(b.c)) != 0 {
			t.Error("it is taken back by one passage's word")
		}
		p.doubt = "it leapt"
		if look := p.takeBack(b.c); len(look) != 1 || look[0].drive[2] != 3 || p.shift != (colorcalc.UV{}) || len(p.takeBack(b.c)) != 0 {
			t.Fatalf("the way back is %v, trimmed by %v then", look, p.shift)
		}
		light := leapt
		if ours {
			light = window
		}
		if p.cameBack(b.c, light, 0); l.stays || l.back != nil {
			t.Errorf("light back: %v; the fixture is left alone after one leap: %v", ours, l.stays)
		}
		l.back, p.shift = solve.Drive{1, 2, 3}, p.last
		p.takeBack(b.c)
		if p.cameBack(b.c, light, 0); l.stays != ours {
			t.Errorf("light back: %v; the fixture is left alone after two leaps: %v", ours, l.stays)
		}
	}
}

// A small doubt is no reason to go back: it may be noise.
func TestNoTrimIsTakenBackForASmallLeap(t *testing.T) {
	b := newBench(t, 1, func(c *Config) { c.Work, c.Plan.Target = Rehearse, Target{Text: "white", UV: window} })
	b.c.ref = &Reference{UV: window}
	near := colorcalc.UV{U: window.U - 0.0009, V: window.V}
	l := &keptLamp{unit: b.c.units[0], back: solve.Drive{1, 2, 3}}
	p := &kept{lamps: []*keptLamp{l}, track: scene.NewReference(near, 3, 0.0003, 0), from: window, doubt: "it leapt"}
	if look := p.takeBack(b.c); len(look) != 0 {
		t.Errorf("it is taken back: %v", look)
	}
}
