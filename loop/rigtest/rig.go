package rigtest

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/loop/stage"
)

// Rig is one drawn scene: what the run is told (Config) and what is true.
type Rig struct {
	Config core.Config

	class  *Class
	seed   uint64
	lamps  []*lampPlan
	probes []*probePlan
	meter  stage.MeterSpec
	target colorcalc.XYZ // the reference at the beginning, lux
	change stage.Change  // what becomes of it
	bounce colorcalc.UV
	// unevenly is how much more or less than others a lamp throws on a probe, by both names.
	unevenly map[string]float64
}

// probePlan is a place where a meter lies.
type probePlan struct {
	name      string
	reference bool // the fixed reference shines here, and nothing else
	light     *stage.Ambient
	off       colorcalc.UV // how far it reads from the truth
	phase     time.Duration
	hands     *stage.Hands
	passers   *stage.Passers
	litBy     []litBy // somebody who lights a lamp here
}

// draws is the random source of a rig.
type draws struct{ *rand.Rand }

// between is even from lo to hi.
func (d *draws) between(lo, hi float64) float64 { return lo + (hi-lo)*d.Float64() }

// seconds is even from lo to hi.
func (d *draws) seconds(lo, hi float64) time.Duration {
	return time.Duration(d.between(lo, hi) * float64(time.Second))
}

// towards is a step of length l in any direction.
func (d *draws) towards(l float64) colorcalc.UV {
	a := 2 * math.Pi * d.Float64()
	return colorcalc.UV{U: l * math.Cos(a), V: l * math.Sin(a)}
}

// referenceName is the fixture that all are matched to.
const referenceName = "reference"

// aLong is about how long a run takes for each lamp: moments in it are drawn from that.
const aLong = 12 * time.Second

// Rig draws the n-th rig of a class.
func (c *Class) Rig(seed uint64, n int) *Rig {
	d := &draws{rand.New(rand.NewPCG(seed, uint64(n)*2+1))}
	r := &Rig{class: c, seed: seed<<20 ^ uint64(n), unevenly: map[string]float64{}}
	r.bounce = d.towards(c.Bounce)
	r.meter = stage.MeterSpec{Integration: 250 * time.Millisecond, Period: 300 * time.Millisecond, Latency: 80 * time.Millisecond,
		SigmaUV: d.between(0.0002, 0.0006), SigmaLevel: d.between(0.004, 0.006), RoundXY: 1e-4, RoundLux: 0.01, Outlier: 0.01, Dropout: 0.01}
	if c.Meter != nil {
		c.Meter(&r.meter, d)
	}
	if c.Person > 0 {
		r.meter.Latency = c.Person
	}
	uv := stage.White(colorcalc.Kelvin(d.between(3300, 5400)).Mired(), colorcalc.Duv(d.between(-0.003, 0.003))).UV()
	r.target = uv.XYZ(500)
	if c.Reference != nil {
		r.change = c.Reference(d)
	}
	lux := 60 * math.Exp(d.between(0, 3)) // of a lamp at its level
	r.config(lux, d)
	r.place(lux, d)
	return r
}

// config fills what the run is told.
func (r *Rig) config(lux float64, d *draws) {
	plan := core.DefaultPlan()
	plan.KeepLit, plan.Lanes = r.class.Aloft, r.class.Lanes
	plan.Watch, plan.Common = r.class.Watch, r.class.Common
	if r.class.Tolerance > 0 {
		plan.Tolerance = r.class.Tolerance
	}
	if r.class.Person > 0 {
		plan = session.Patient(plan)
	}
	plan.Target = core.Target{Reference: referenceName, Text: "the light of " + referenceName}
	r.Config = core.Config{Work: core.Match, Plan: plan, Batches: map[string]*solve.Batch{}}
	ref := core.Unit{Info: core.FixtureInfo{Name: referenceName, Profile: "any", Probe: "ref", Fixed: true}, Head: -1}
	if r.class.OwnLamp {
		const most = 65535
		ref.Head, ref.Info.Probe = 0, "mark1"
		ref.Spec = solve.Spec{Name: referenceName, Channels: []solve.Channel{{Name: "dimmer", Max: most, Hi: most}}}
		ref.Rest, ref.Lit = solve.Drive{0}, solve.Drive{most}
		ref.Dark = []core.AxisCode{{Axis: 0, Code: 0}}
		ref.Settle = loop.NewDeadTime(0).Wait()
		r.lamps = append(r.lamps, &lampPlan{name: referenceName, seen: []string{"mark1"}, fixed: r.target, change: r.change})
	}
	r.Config.Units = append(r.Config.Units, ref)
	for i := range r.class.lamps() {
		l := r.lamp(i, lux*d.between(0.7, 1.4), d)
		l.sound, l.asMade = l.kind, slices.Clone(l.channels)
		if r.class.Lamp != nil {
			r.class.Lamp(l, d)
		}
		l.finish(r)
		r.Config.Units = append(r.Config.Units, l.unit(len(r.lamps)))
		r.lamps = append(r.lamps, l)
	}
	r.patchAll()
	for i := range r.Config.Units {
		if u := &r.Config.Units[i]; u.Head >= 0 {
			r.lamps[u.Head].patch.tells(u)
		}
	}
	r.Config.Modes = menus(r.Config.Units)
	for i, l := range r.lamps { // a turned meter sees the next lamp
		if next := r.lamps[(i+1)%len(r.lamps)]; l.turned && !next.turned {
			next.seen = append(next.seen, l.probe)
		}
	}
}

// menus lists for every type of lamp what the others are, as if those were other modes of it: no lamp is in one of them, and none may be said to be.
func menus(units []core.Unit) map[string][]solve.Spec {
	all, firsts := map[string][]solve.Spec{}, map[string]solve.Spec{}
	var types []string
	for i := range units {
		if u := &units[i]; u.Head >= 0 && u.Type != "" && u.Spec.Kind != 0 && !slices.Contains(types, u.Type) {
			s := u.Spec
			s.Name, s.Start, s.Address = "that of "+u.Type, nil, 0
			types, firsts[u.Type] = append(types, u.Type), s
		}
	}
	for _, t := range types {
		for _, o := range types {
			if o != t {
				all[t] = append(all[t], firsts[o])
			}
		}
	}
	return all
}

// stray light, lux, that even a dark room has.
const stray = 0.2

// place draws what is at each probe.
func (r *Rig) place(lux float64, d *draws) {
	c := r.class
	long := aLong * time.Duration(c.lamps())
	for i := range c.probes() {
		p := &probePlan{name: fmt.Sprintf("mark%d", i+1), off: d.towards(c.ProbesOff * d.between(0.5, 1)), phase: d.seconds(0, 0.3)}
		spec := c.Ambient
		if !c.Pitch {
			white := stage.White(colorcalc.Kelvin(d.between(2800, 7000)).Mired(), colorcalc.Duv(d.between(-0.006, 0.01)))
			spec.Light = white.XYZ(c.Background*lux + stray)
		}
		if c.StepIn {
			spec.Step = time.Duration(d.between(0.1, 0.9) * float64(long))
			spec.Factor = []float64{0.67, 1.5, 2}[d.IntN(3)]
			spec.Moved = d.towards(0.01)
		}
		if c.GoesOut {
			spec.Step, spec.Factor = time.Duration(d.between(0.05, 0.3)*float64(long)), 0.05
		}
		if c.Sweeps > 0 {
			spec.Sweep, spec.SweepPeriod, spec.HuePeriod = c.Sweeps*lux, d.seconds(8, 30), d.seconds(10, 40)
		}
		if d.IntN(2) == 0 {
			spec.Drift = -spec.Drift / 2
		}
		p.light = stage.NewAmbient(spec, r.seed, p.name)
		p.hands, p.passers = stage.NewHands(c.Hand, r.seed, p.name), stage.NewPassers(c.Passer, r.seed, p.name)
		r.probes = append(r.probes, p)
	}
	c.Somebody.visits(r, lux, long*6/10, d)
	if !c.OwnLamp {
		r.probes = append(r.probes, &probePlan{name: "ref", reference: true, off: d.towards(c.ProbesOff * d.between(0.5, 1)),
			light: stage.NewAmbient(stage.AmbientSpec{}, 0, ""), hands: stage.NewHands(0, 0, ""), passers: stage.NewPassers(0, 0, ""), phase: d.seconds(0, 0.3)})
	}
}

// reference is the reference's light at a moment, lux at its probe.
func (r *Rig) reference(t time.Duration) colorcalc.XYZ { return r.change.At(r.target, t) }

func (r *Rig) probe(name string) *probePlan {
	for _, p := range r.probes {
		if p.name == name {
			return p
		}
	}
	return nil
}

// spills is the share of a lamp's light at its probe that falls on another.
func (r *Rig) spills(l *lampPlan, on string) float64 {
	share := r.class.Spill * r.uneven(l.name, on)
	if !r.class.Near {
		return share
	}
	place := func(name string) int {
		return slices.IndexFunc(r.probes, func(p *probePlan) bool { return p.name == name })
	}
	away := place(l.probe) - place(on)
	return share * math.Pow(0.2, float64(max(away, -away)-1))
}

// uneven is how much more or less than others a lamp throws on a probe; 1 on average.
func (r *Rig) uneven(lamp, on string) float64 {
	sd := r.class.Uneven
	if sd == 0 {
		return 1
	}
	key := lamp + " " + on
	factor, known := r.unevenly[key]
	if !known {
		h := fnv.New64a()
		h.Write([]byte(key))
		d := rand.New(rand.NewPCG(r.seed, h.Sum64()))
		factor = math.Exp(sd*d.NormFloat64() - sd*sd/2)
		r.unevenly[key] = factor
	}
	return factor
}

// mostReadings of one setting a run may be expected to take: with a meter that asks for more, to refuse is right.
const mostReadings = 16

// readable tells whether the meter carries the tolerance with mostReadings of one setting still when the run should end:
// 6 (sigma/tolerance)^2 of them put the mean within the tolerance with 95 %.
func (r *Rig) readable() bool {
	end := aLong * time.Duration(r.class.lamps())
	k := r.meter.SigmaUV * (1 + r.meter.Grow*end.Hours()) / tolerance
	return 6*k*k <= mostReadings
}
