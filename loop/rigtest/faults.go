package rigtest

import (
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
	"trueup/profiles/law"
)

// oneIn spoils about one lamp in n.
func oneIn(n int, spoil func(l *lampPlan, d *draws)) func(*lampPlan, *draws) {
	return func(l *lampPlan, d *draws) {
		if d.IntN(n) == 0 {
			l.spoilt = true
			spoil(l, d)
		}
	}
}

// faults are scenes in which about one lamp in four has a fault, and the others none.
// Cause lists what it may rightly be called.
func faults() []Class {
	return []Class{
		{Name: "dead emitter", Only: "emitters", Cause: "dead emitter", Lamp: oneIn(4, func(l *lampPlan, d *draws) {
			l.kind.Quirks.Gain = gains(len(l.kind.Emitters), d.IntN(len(l.kind.Emitters)), 0)
		})},
		{Name: "weak emitter", Only: "emitters", Cause: "dead emitter", Lamp: oneIn(4, func(l *lampPlan, d *draws) {
			l.kind.Quirks.Gain = gains(len(l.kind.Emitters), d.IntN(len(l.kind.Emitters)), d.between(0.25, 0.6))
		})},
		{Name: "curves not stated, emitters that droop, one dead", Only: "emitters", Cause: "dead emitter", Lamp: droops},
		{Name: "two emitters exchanged", Only: "emitters", Cause: "swapped", Lamp: oneIn(4, func(l *lampPlan, d *draws) {
			a := d.IntN(len(l.channels))
			b := (a + 1 + d.IntN(len(l.channels)-1)) % len(l.channels)
			if l.channels = slices.Clone(l.channels); d.IntN(2) == 0 {
				l.spec.Curve = law.Curve{}
			}
			l.channels[a], l.channels[b] = l.channels[b], l.channels[a]
			l.swapped = true
		})},
		{Name: "x and y exchanged", Only: "xy", Cause: "swapped", Lamp: oneIn(4, exchangesColour)},
		{Name: "hue and saturation exchanged", Only: "hue", Cause: "swapped", Lamp: oneIn(4, exchangesColour)},
		{Name: "colour temperature and tint exchanged", Only: "cct", Cause: "swapped", Lamp: oneIn(4, exchangesColour)},
		{Name: "wrong address", Probes: 12, Cause: "not answering, no light", Lamp: oneIn(4, func(l *lampPlan, _ *draws) { l.deaf = true })},
		{Name: "wrong address, pitch dark", Pitch: true, Probes: 12, Cause: "not answering, no light", Lamp: oneIn(4, func(l *lampPlan, _ *draws) { l.deaf = true })},
		{Name: "wrong address, one probe, a meter that means three windows", Probes: 1, Cause: "not answering, no light", Meter: meansThree, Lamp: oneIn(4, func(l *lampPlan, _ *draws) { l.deaf = true })},
		{Name: "meter turned to another lamp", Probes: 12, Cause: "not answering, no light", Lamp: oneIn(4, func(l *lampPlan, _ *draws) { l.turned = true })},
		{Name: "driven by somebody else", Probes: 12, Cause: "not answering, no light", Lamp: oneIn(4, func(l *lampPlan, d *draws) {
			l.deaf = true
			l.others = append(l.others, look{at: d.seconds(0, 5), codes: l.proposed(l.aim)})
			for t := d.seconds(20, 60); t < 10*time.Minute; t += d.seconds(20, 60) {
				off := d.towards(d.between(0, 0.02))
				l.others = append(l.others, look{t, l.proposed(colorcalc.UV{U: l.aim.U + off.U, V: l.aim.V + off.V})})
			}
		})},
		{Name: "tint sign inverted", Only: "cct", Cause: "tint sign", Lamp: oneIn(4, func(l *lampPlan, _ *draws) {
			c := &l.channels[1]
			c.Lo, c.Hi = c.Hi, c.Lo
		})},
		{Name: "kelvin stated for mired, or the other way", Only: "cct", Cause: "scale", Lamp: oneIn(4, func(l *lampPlan, _ *draws) {
			l.channels[0].Reciprocal = !l.channels[0].Reciprocal
		})},
		{Name: "address off by one or two", Probes: 12, Cause: "address, not answering, no light", Lamp: readdressed},
		{Name: "address off by one or two, 8 bit", Bits: 8, Probes: 12, Cause: "address, not answering, no light", Lamp: readdressed},
		{Name: "address off by one or two, three probes", Cause: "address, not answering, no light", Background: 0.02, Lamp: readdressed},
		{Name: "a mode of 8 bit for one of 16", Probes: 12, Cause: "another mode, not answering, no light", Lamp: remoded},
		{Name: "a mode of 16 bit for one of 8", Bits: 8, Probes: 12, Cause: "another mode, not answering, no light", Lamp: remoded},
	}
}

// readdressed has one lamp in three listen one or two slots from where the rig has it.
func readdressed(l *lampPlan, d *draws) {
	atTenths(l, d)
	if d.IntN(3) == 0 {
		l.spoilt, l.off = true, []int{-2, -1, 1, 1, 1, 2}[d.IntN(6)]
	}
}

// remoded has one lamp in three be in another mode, beside lamps as those of [readdressed].
func remoded(l *lampPlan, d *draws) {
	atTenths(l, d)
	if d.IntN(3) == 0 {
		l.spoilt, l.remoded = true, true
	}
}

// atTenths gives the lamps of emitters of about every other type a dimmer, and has every dimmer stand at a whole tenth, as people set them.
func atTenths(l *lampPlan, d *draws) {
	if of := math.Float64bits(l.kind.Heat.Sink); l.spec.Kind == solve.Emitters && of>>20%2 == 0 { // the same for all of a type
		l.dims()
	}
	if tenths := 3 + d.IntN(8); l.spec.Dimmer != nil {
		n := l.spec.Dimmer.Channel
		l.spec.Start[n] = uint32(math.Round(float64(tenths) / 10 * float64(l.channels[n].Max)))
	}
}

// exchangesColour gives the two parameters of a lamp's colour each other's slots.
func exchangesColour(l *lampPlan, _ *draws) {
	l.channels = slices.Clone(l.channels)
	l.channels[0], l.channels[1] = l.channels[1], l.channels[0]
}

// droops is a lamp whose profile does not state the dimming curve, and whose emitters lose three times as much as usual when they
// are warm; in one of four an emitter is dead.
func droops(l *lampPlan, d *draws) {
	l.spec.Curve = law.Curve{}
	l.droopsMore()
	if d.IntN(4) == 0 {
		l.spoilt = true
		l.kind.Quirks.Gain = gains(len(l.kind.Emitters), d.IntN(len(l.kind.Emitters)), 0)
	}
}

// droopsMore has its emitters lose three times as much as usual when they are warm.
func (l *lampPlan) droopsMore() {
	l.kind.Emitters = slices.Clone(l.kind.Emitters)
	for i := range l.kind.Emitters {
		l.kind.Emitters[i].Droop *= 3
	}
}

// gains lets one of n emitters give g of its light.
func gains(n, one int, g float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	out[one] = g
	return out
}
