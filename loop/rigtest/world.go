package rigtest

import (
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/rehearse"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/loop/stage"
)

// The wire: levels are sent about 20 times a second on a ramp of half of full light a
// second, the usual limit of the governor.
const (
	frame     = 50 * time.Millisecond
	riseLimit = 0.5 // of full light per second
	leastRamp = 25 * time.Millisecond
)

// world is a rig in time. Heads are counted as the core counts them.
type world struct {
	rehearse.World
	rig   *Rig
	lamps []*lamp
	odd   map[string]bool // probes whose next reading is not of this light
	err   error           // why it did not end in order
	wire  map[int][]byte  // the slots of each universe
}

// lamp is a plant with its wire.
type lamp struct {
	plan  *lampPlan
	plant *stage.Plant // nil: a fixed light behind one dimmer
	sent  solve.Drive
	heard solve.Drive // of one that listens elsewhere: what it takes from there
	lit   bool        // has been lit once
	ramp  int         // number of the present ramp; an older one is void
}

// at brings a lamp to the present and returns it.
func (w *world) at(l *lamp) *stage.Plant {
	l.plant.Advance(w.Now() - l.plant.Now())
	return l.plant
}

// light is what a lamp gives now, on its own probe, lux, averaged over the next d.
func (w *world) light(l *lamp, d time.Duration) colorcalc.XYZ {
	p := l.plan
	if l.plant == nil {
		k := float64(l.sent[0]) / 65535
		return p.change.At(p.fixed.Scale(k), w.Now())
	}
	return p.change.At(w.at(l).Over(w.Now(), w.Now()+d).Scale(p.gain), w.Now())
}

// on is the light on a probe now, averaged over the next d.
func (w *world) on(p *probePlan, d time.Duration) colorcalc.XYZ {
	sum := p.light.At(w.Now()).Add(p.somebodys(w.Now()))
	if p.reference {
		sum = sum.Add(w.rig.reference(w.Now()))
	}
	for _, l := range w.lamps {
		switch {
		case slices.Contains(l.plan.seen, p.name):
			sum = sum.Add(w.light(l, d))
		case w.rig.class.Spill > 0 && !p.reference:
			if share := w.rig.spills(l.plan, p.name); share > 0 {
				sum = sum.Add(stage.Tinted(w.light(l, d).Scale(share), w.rig.bounce))
			}
		}
	}
	return p.hands.Through(p.passers.Through(sum, w.Now()), w.Now())
}

// eyes is how a probe sees a light that is there.
func (p *probePlan) eyes(c colorcalc.XYZ) colorcalc.XYZ { return stage.Tinted(c, p.off) }

// Wish implements rehearse.Wire: it begins a ramp to codes.
func (w *world) Wish(head int, codes solve.Drive) {
	l := w.lamps[head]
	l.ramp++
	ramp, from := l.ramp, slices.Clone(l.sent)
	took := w.rampTime(l, from, codes)
	begin := w.Now()
	for t := frame; t < took; t += frame {
		f := float64(t) / float64(took)
		w.At(begin+t, func() {
			if l.ramp == ramp {
				w.set(l, between(from, codes, f))
			}
		})
	}
	w.At(begin+took, func() {
		if l.ramp != ramp {
			return
		}
		w.set(l, codes)
		if w.rig.class.FirstOdd && !l.lit && l.plant != nil && l.plant.Would(codes).Y > 0 {
			l.lit, w.odd[l.plan.probe] = true, true
		}
		w.Tell(core.Event{Kind: core.Arrived, Head: head, Sent: slices.Clone(codes), When: w.Now()})
	})
}

func between(a, b solve.Drive, f float64) solve.Drive {
	out := make(solve.Drive, len(a))
	for i := range a {
		out[i] = uint32(math.Round(float64(a[i]) + f*(float64(b[i])-float64(a[i]))))
	}
	return out
}

// set puts codes on a lamp's wire.
func (w *world) set(l *lamp, codes solve.Drive) {
	l.sent = slices.Clone(codes)
	if l.plant != nil && !l.plan.deaf && l.plan.listens() {
		w.at(l).Set(codes)
	}
	w.puts(l)
}

// rampTime is how long the governor needs: the light that changes hands at half of full
// light a second.
func (w *world) rampTime(l *lamp, from, to solve.Drive) time.Duration {
	change := 0.0
	if l.plant == nil {
		change = math.Abs(float64(to[0])-float64(from[0])) / 65535
	} else {
		p := w.at(l)
		a, b := p.Would(from), p.Would(to)
		change = max(math.Abs(a.X-b.X), math.Abs(a.Y-b.Y), math.Abs(a.Z-b.Z)) / l.plan.full
	}
	return max(leastRamp, time.Duration(change/riseLimit*float64(time.Second)))
}

// spoil makes the next reading of a probe one that is not of this light, where one is due.
func (w *world) spoil(r *core.Reading) {
	if w.odd[r.Probe] {
		w.odd[r.Probe] = false
		r.UV.U, r.UV.V, r.Y = r.UV.U+0.012, r.UV.V-0.008, 0.7*r.Y
	}
}

// run plays until the run has ended, or for so long.
func (w *world) run(longest time.Duration) {
	for _, l := range w.lamps {
		for _, o := range l.plan.others {
			w.At(o.at, func() { w.at(l).Set(o.codes) })
		}
	}
	w.err = w.Run(longest)
}
