package core

import (
	"testing"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// A lamp that is held while it shines stays in the mixture that its probe reads: the others are not
// trimmed against its colour. One that is held dark is not in it.
func TestTheLightOfAHeldLampStaysInTheAim(t *testing.T) {
	for phase, within := range map[keepPhase]bool{keepTrims: true, keepLights: false} {
		b := newBench(t, 2, func(c *Config) { c.Work, c.Plan.Target = Rehearse, Target{Text: "white", UV: window} })
		b.c.ref = &Reference{UV: window}
		off := colorcalc.UV{U: window.U + 0.006, V: window.V}
		landed := &keptLamp{unit: b.c.units[0], standing: Standing{Result: solve.Landed, UV: window, Lux: 100}}
		far := &keptLamp{unit: b.c.units[1], standing: Standing{Result: solve.OutOfReach, UV: off, Lux: 100}, trimming: true}
		p := &kept{name: landed.unit.Info.Probe, lamps: []*keptLamp{landed, far}}
		k := &keeping{phase: phase, probes: []*kept{p}, at: p, moves: []move{{unit: landed.unit}, {unit: far.unit}}}
		want := window.XYZ(100)
		if within {
			want = want.Add(off.XYZ(100))
		}
		k.refused(b.c, input{refused: "held", by: far.unit, why: "held"})
		if d := p.aim(b.c).Dist(want.UV()); d > 1e-9 {
			t.Errorf("phase %d: the aim is %.4f from the mixture of the lamps that shine", phase, d)
		}
		if len(p.trimmed()) != 0 {
			t.Errorf("phase %d: a held lamp is asked again", phase)
		}
	}
}
