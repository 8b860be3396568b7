package rigtest

import (
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/rehearse"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/loop/stage"
)

// Run is what came of one rig.
type Run struct {
	Lamps   []Lamp
	Asked   int     // readings that the run was given, those in the dark and of the reference too
	Seconds float64 // virtual
	Err     error   // why it did not end in order
}

// Lamp is what a run claims of one lamp at its end, and what is true.
type Lamp struct {
	Name      string
	Spoilt    bool // the class did something to it
	Hidden    bool // that no reading at this colour can tell
	Reachable bool // it could be matched
	Outcome   *core.Outcome
	First     int     // readings until its first outcome
	Took      float64 // virtual seconds from its first reading to its first outcome
	Named     int     // readings until a cause of its class was named, but those that only time how long its light takes; 0 = never
	// Claimed is the lamp's light less the reference by the run's estimate, SD its
	// standard deviation for each axis; True is the same as it is: the lamp's own light as it stood
	// at its last outcome, the reference as it is at the end of the run, both as the
	// lamp's probe sees them.
	Claimed, True colorcalc.UV
	SD            float64
	Lux           float64 // of its own light as it stood at its last outcome, as its probe sees it; 0: none
	began         time.Duration
	// Later is how far the lamp is from the reference ten minutes after the end, lit all the time.
	Later float64
}

// Error is how far the lamp truly is from the reference, u'v'.
func (l *Lamp) Error() float64 { return l.True.Dist(colorcalc.UV{}) }

// Beyond tells whether the lamp is claimed landed and truly is beyond 1.5 times the tolerance.
func (l *Lamp) Beyond() bool { return l.Outcome.Landed() && l.Error() > 1.5*tolerance }

// longest is more than any run takes for each lamp.
const longest = 10 * time.Minute

// mostAnswers are more than a person is asked for of one lamp.
const mostAnswers = 500

// Play plays the rig from its beginning to its end.
func (r *Rig) Play() Run {
	c, err := core.New(r.Config)
	if err != nil {
		return Run{Err: err}
	}
	t := r.judge()
	w := r.world(c)
	w.Heard = func(e core.Entry) { t.hear(e, w) }
	w.run((longest + mostAnswers*r.class.Person) * time.Duration(len(r.lamps)))
	return t.sum(w)
}

// world puts the rig into time, for a run.
func (r *Rig) world(c *core.Core) *world {
	w := &world{rig: r, odd: map[string]bool{}}
	w.World = rehearse.World{Core: c, Wire: w, Probes: map[string]*rehearse.Probe{}, ReadTimeout: r.Config.Plan.ReadTimeout}
	for _, p := range r.lamps {
		l := &lamp{plan: p, sent: slices.Clone(p.rest)}
		if p.drawn == nil {
			l.sent = solve.Drive{0}
		} else {
			l.plant = stage.NewPlant(p.drawn, p.channels)
			l.plant.Set(p.rest)
			l.plant.Preheat(p.warmth)
		}
		w.lamps = append(w.lamps, l)
	}
	w.patch()
	for _, p := range r.probes {
		w.Probes[p.name] = &rehearse.Probe{Name: p.name, Meter: stage.NewMeter(r.meter, r.seed, p.name), Phase: p.phase, OnRequest: r.class.Person > 0,
			Light: func(d time.Duration) colorcalc.XYZ { return w.on(p, d) }, Seen: p.eyes, Spoil: w.spoil}
	}
	return w
}

// judge hears the journal and looks at the truth at the same moment.
type judge struct {
	rig      *Rig
	ref      *core.Reference
	lamps    map[string]*Lamp
	readings map[string]int           // so far
	light    map[string]colorcalc.XYZ // own light at the last outcome, as its probe sees it
}

// judge is one of the rig, before it has heard anything.
func (r *Rig) judge() *judge {
	return &judge{rig: r, lamps: map[string]*Lamp{}, readings: map[string]int{}, light: map[string]colorcalc.XYZ{}}
}

func (t *judge) hear(e core.Entry, w *world) {
	if e.Reference != nil {
		t.ref = e.Reference
	}
	if e.Fixture == "" || e.Fixture == referenceName {
		return
	}
	l := t.lamps[e.Fixture]
	if l == nil {
		l = &Lamp{Name: e.Fixture}
		t.lamps[e.Fixture] = l
	}
	if e.Reading != nil && l.began == 0 {
		l.began = w.Now()
	}
	if e.Reading != nil && e.Kind != core.KindSettle {
		t.readings[e.Fixture]++
	}
	if l.Named == 0 && names(&e, t.rig.class.Cause) {
		l.Named = max(t.readings[e.Fixture], 1)
	}
	if e.Outcome != nil {
		if l.Outcome == nil {
			l.First, l.Took = e.Outcome.Readings, (w.Now() - l.began).Seconds()
		}
		l.Outcome = e.Outcome
		if e.Kind == core.KindClaim { // its light is that of its last visit
			return
		}
		for _, lamp := range w.lamps {
			if lamp.plan.name == e.Fixture && lamp.plant != nil {
				t.light[e.Fixture] = lamp.plan.change.At(w.at(lamp).Settled().Scale(lamp.plan.gain), w.Now())
			}
		}
	}
}

// sum holds the claims against the reference as it is at the end.
func (t *judge) sum(w *world) Run {
	out := Run{Asked: w.Readings, Seconds: w.Now().Seconds(), Err: w.err}
	for _, p := range t.rig.lamps {
		if p.drawn == nil {
			continue
		}
		l := Lamp{Name: p.name}
		if known := t.lamps[p.name]; known != nil {
			l = *known
		}
		// A gel taken off may leave the reference where a lamp can not follow.
		l.Spoilt, l.Hidden, l.Reachable = p.spoilt, p.hidden, p.reachable && (t.rig.class.Reference == nil || p.reaches(t.rig.reference(w.Now()).UV())) && t.rig.readable()
		eyes := t.rig.probe(p.probe)
		if light := t.light[p.name]; light.Y > 0 {
			a, b := eyes.eyes(light).UV(), eyes.eyes(t.rig.reference(w.Now())).UV()
			l.True, l.Lux = colorcalc.UV{U: a.U - b.U, V: a.V - b.V}, eyes.eyes(light).Y
		}
		if o := l.Outcome; o != nil && o.Final != nil && t.ref != nil {
			l.Claimed = colorcalc.UV{U: o.Final.UV.U - t.ref.UV.U, V: o.Final.UV.V - t.ref.UV.V}
			l.SD = claimedSD(o, t.ref)
		}
		out.Lamps = append(out.Lamps, l)
	}
	t.later(w, out.Lamps)
	return out
}

// later lights every lamp as the run left it, for ten minutes.
func (t *judge) later(w *world, lamps []Lamp) {
	const wait = 10 * time.Minute
	ref := t.rig.reference(w.Now() + wait)
	i := 0
	for _, l := range w.lamps {
		if l.plant == nil {
			continue
		}
		at := &lamps[i]
		i++
		if o := at.Outcome; o == nil || o.After == nil {
			continue
		} else if !l.plan.deaf && l.plan.listens() {
			w.at(l).Set(o.After.Codes)
		}
		l.plant.Advance(wait)
		eyes := t.rig.probe(l.plan.probe)
		at.Later = eyes.eyes(l.plan.change.At(l.plant.Settled(), w.Now()+wait)).UV().Dist(eyes.eyes(ref).UV())
	}
}
