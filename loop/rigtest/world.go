package rigtest

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
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

// leastLux is the least light of which a meter tells a colour.
const leastLux = 0.05

// looks at the light are taken in one window of a meter.
const looks = 4

// world is a rig in time. Heads are counted as the core counts them.
type world struct {
	rig    *Rig
	core   *core.Core
	now    time.Duration
	queue  queue
	lamps  []*lamp
	probes map[string]*probe
	events []core.Event // for the core, at now
	wake   uint64       // of the last Do; older wakes are void
	over   bool
	err    error
	heard  func(core.Entry, *world)
	asks   int // readings given
}

// lamp is a plant with its wire.
type lamp struct {
	plan  *lampPlan
	plant *stage.Plant // nil: a fixed light behind one dimmer
	sent  solve.Drive
	lit   bool // has been lit once
	ramp  int  // number of the present ramp; an older one is void
}

// probe is a meter that runs by itself, one window after another, while it is
// asked for readings now and then.
type probe struct {
	plan    *probePlan
	meter   *stage.Meter
	awake   bool
	asked   time.Duration // last
	waiting []core.Ask    // for a reading
	odd     bool          // the next reading it gives is not of this light
	seq     uint64
	window  int // number of windows since the beginning
}

// at brings a lamp to the present and returns it.
func (w *world) at(l *lamp) *stage.Plant {
	l.plant.Advance(w.now - l.plant.Now())
	return l.plant
}

// light is what a lamp gives now, on its own probe, lux, averaged over the next d.
func (w *world) light(l *lamp, d time.Duration) colorcalc.XYZ {
	p := l.plan
	if l.plant == nil {
		k := float64(l.sent[0]) / 65535
		return p.change.At(p.fixed.Scale(k), w.now)
	}
	return p.change.At(w.at(l).Over(w.now, w.now+d).Scale(p.gain), w.now)
}

// on is the light on a probe now, averaged over the next d.
func (w *world) on(p *probe, d time.Duration) colorcalc.XYZ {
	sum := p.plan.light.At(w.now)
	if p.plan.reference {
		sum = sum.Add(w.rig.reference(w.now))
	}
	for _, l := range w.lamps {
		switch {
		case slices.Contains(l.plan.seen, p.plan.name):
			sum = sum.Add(w.light(l, d))
		case w.rig.class.Spill > 0 && !p.plan.reference:
			sum = sum.Add(stage.Tinted(w.light(l, d).Scale(w.rig.class.Spill), w.rig.bounce))
		}
	}
	return p.plan.hands.Through(sum, w.now)
}

// eyes is how a probe sees a light that is there.
func (p *probePlan) eyes(c colorcalc.XYZ) colorcalc.XYZ { return stage.Tinted(c, p.off) }

// wish begins a ramp to codes.
func (w *world) wish(head int, codes solve.Drive) {
	l := w.lamps[head]
	l.ramp++
	ramp, from := l.ramp, slices.Clone(l.sent)
	took := w.rampTime(l, from, codes)
	begin := w.now
	for t := frame; t < took; t += frame {
		f := float64(t) / float64(took)
		w.queue.put(begin+t, func() {
			if l.ramp == ramp {
				w.set(l, between(from, codes, f))
			}
		})
	}
	w.queue.put(begin+took, func() {
		if l.ramp != ramp {
			return
		}
		w.set(l, codes)
		if p := w.probes[l.plan.probe]; w.rig.class.FirstOdd && !l.lit && l.plant != nil && l.plant.Would(codes).Y > 0 {
			l.lit, p.odd = true, true
		}
		w.tell(core.Event{Kind: core.Arrived, Head: head, Sent: slices.Clone(codes), When: w.now})
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
	if l.plant != nil && !l.plan.deaf {
		w.at(l).Set(codes)
	}
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

// ask takes a wish for a reading.
func (w *world) ask(a core.Ask) {
	p := w.probes[a.Probe]
	if p == nil {
		w.tell(core.Event{Kind: core.NoReading, Ask: a.ID, Why: fmt.Sprintf("there is no probe %q", a.Probe)})
		return
	}
	p.waiting, p.asked = append(p.waiting, a), w.now
	w.queue.put(max(w.now, a.After)+w.rig.Config.Plan.ReadTimeout, func() {
		if i := slices.IndexFunc(p.waiting, func(b core.Ask) bool { return a.ID == b.ID }); i >= 0 {
			p.waiting = slices.Delete(p.waiting, i, i+1)
			w.tell(core.Event{Kind: core.NoReading, Ask: a.ID, Why: fmt.Sprintf("no usable reading of probe %q within %s", a.Probe, w.rig.Config.Plan.ReadTimeout)})
		}
	})
	if !p.awake {
		p.awake = true
		spec := &p.meter.Spec
		p.window = int(math.Ceil(float64(w.now-p.plan.phase) / float64(spec.Period)))
		w.open(p)
	}
}

// linger is how long a meter's windows are looked at after the last request.
const linger = 2 * time.Second

// open plans the next window of a meter.
func (w *world) open(p *probe) {
	spec := &p.meter.Spec
	begin := p.plan.phase + time.Duration(p.window)*spec.Period
	p.window++
	sum := new(colorcalc.XYZ)
	part := spec.Integration / looks
	for i := range looks {
		w.queue.put(begin+time.Duration(i)*part, func() { *sum = sum.Add(w.on(p, part)) })
	}
	w.queue.put(begin+spec.Integration, func() {
		p.seq++
		r := core.Reading{At: w.now, Integration: spec.Integration, Probe: p.plan.name, Seq: p.seq, HasY: true, RoundXY: spec.RoundXY}
		avg := p.plan.eyes(sum.Scale(1.0 / looks))
		ok := true
		if avg.Y < leastLux {
			r.TooDark = true
		} else {
			var s stage.Sample
			s, ok = p.meter.Read(avg, w.now)
			r.UV, r.Y = s.XY.UV(), s.Lux
		}
		if ok {
			w.queue.put(w.now+spec.Latency, func() { w.said(p, begin, r) })
		}
	})
	w.queue.put(begin+spec.Period, func() {
		if p.awake = len(p.waiting) > 0 || w.now-p.asked < linger; p.awake {
			w.open(p)
		}
	})
}

// said hands a reading to the requests that it serves.
func (w *world) said(p *probe, begin time.Duration, r core.Reading) {
	served := func(a core.Ask) bool { return begin >= a.After && (!r.TooDark || a.Dark || a.Faint) }
	if !slices.ContainsFunc(p.waiting, served) {
		return
	}
	if p.odd {
		p.odd = false
		r.UV.U, r.UV.V, r.Y = r.UV.U+0.012, r.UV.V-0.008, 0.7*r.Y
	}
	p.asked = w.now
	for _, a := range p.waiting {
		if served(a) {
			w.asks++
			w.tell(core.Event{Kind: core.Read, Ask: a.ID, Reading: &r})
		}
	}
	p.waiting = slices.DeleteFunc(p.waiting, served)
}

func (w *world) tell(e core.Event) { w.events = append(w.events, e) }

// run plays until the core has ended, or for so long.
func (w *world) run(longest time.Duration) {
	for _, l := range w.lamps {
		for _, o := range l.plan.others {
			w.queue.put(o.at, func() { w.at(l).Set(o.codes) })
		}
	}
	w.tell(core.Event{Kind: core.Begin})
	for {
		for len(w.events) > 0 && !w.over {
			e := w.events[0]
			w.events = w.events[1:]
			e.At = w.now
			w.step(e)
		}
		it, ok := w.queue.next()
		switch {
		case w.over:
			return
		case !ok:
			w.err = fmt.Errorf("the run waits for nothing at %v", w.now)
			return
		case it.at > longest:
			w.err = fmt.Errorf("the run has not ended after %v", longest)
			return
		}
		w.now = it.at
		it.do()
	}
}

func (w *world) step(e core.Event) {
	do := w.core.Step(e)
	for _, entry := range do.Entries {
		w.heard(entry, w)
	}
	if do.Done {
		w.over, w.err = true, do.Err
		return
	}
	if do.Drop {
		for _, p := range w.probes {
			p.waiting = nil
		}
	}
	for _, wish := range do.Wishes {
		w.wish(wish.Head, wish.Codes)
	}
	for _, a := range do.Asks {
		w.ask(a)
	}
	w.wake++
	if wake := w.wake; do.Wake > 0 {
		w.queue.put(max(do.Wake, w.now), func() {
			if w.wake == wake {
				w.tell(core.Event{Kind: core.Tick})
			}
		})
	}
}
