package rehearse

import (
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/dmx"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/loop/stage"
	"trueup/safety"
)

// Job is a run of a rig that is to be played.
type Job struct {
	session.Job
	Meters map[string]session.Pace // by the name of the feed; missing ones are session.AssumedPace
	Stage  *stage.File             // what stands there; nil: a lamp of the ordinary sort for each fixture
	Seed   uint64                  // of lamps and meters, where Stage is nil

	watch func(at time.Time, u dmx.Universe, levels []byte) // sees every frame; may be nil
}

// Played is what came of it.
type Played struct {
	Entries  []session.Entry // the journal; times count from an arbitrary beginning
	Took     time.Duration   // from the first event to the last
	Before   time.Duration   // what comes before: listening, and the look at the start
	HandBack time.Duration   // what comes after
	Readings int
	Times    core.TypeTimes // what it found of what lamps do in time
	Err      error          // why the run did not end in order
}

// Whole is what a person waits for, from the start of the command to the lamps' rest.
func (p *Played) Whole() time.Duration { return p.Before + p.Took + p.HandBack }

// longest run for each lamp, and of any hand-over.
const (
	longestLamp = 10 * time.Minute
	longestBack = time.Minute
)

// Play plays a run from its beginning to its end. What earlier runs learnt (session.Job.Learnt) is not
// changed. An error says that the rig can not be played.
func (j Job) Play() (*Played, error) {
	if j.Stage == nil {
		j.Stage = &stage.File{Seed: j.Seed}
	}
	cfg := j.Config()
	cfg.Batches = map[string]*solve.Batch{}
	if cfg.Work != core.Verify && len(j.Learnt) > 0 {
		var err error
		if cfg.Batches, err = j.taught(); err != nil {
			return nil, err
		}
	}
	return j.play(cfg)
}

// taught plays a short run on a few lamps of every type that earlier runs have learnt. The lamps played
// with are not those of the real rig, so what was learnt of those would mislead here; a type
// that is known there is known here too.
func (j Job) taught() (map[string]*solve.Batch, error) {
	const each = 3
	cfg := j.Config()
	cfg.Batches, cfg.Work = map[string]*solve.Batch{}, core.Match
	cfg.Plan.SecondVisit, cfg.Plan.WarmUp = false, 0
	count := map[string]int{}
	var units []core.Unit
	for _, u := range slices.Backward(cfg.Units) {
		if u.Info.Name != cfg.Plan.Target.Reference {
			if j.Learnt[u.Type] == nil || count[u.Type] == each {
				continue
			}
			count[u.Type]++
		}
		units = append(units, u)
	}
	if len(count) == 0 {
		return cfg.Batches, nil
	}
	cfg.Units = units
	_, err := j.play(cfg)
	return cfg.Batches, err
}

func (j Job) play(cfg core.Config) (*Played, error) {
	hall, err := stage.Build(j.Rig, j.Stage)
	if err != nil {
		return nil, err
	}
	p := &Played{Before: j.Job.Before()}
	hall.Levels(0, nil) // lamps that no slot reaches
	cfg.Beforehand = j.beforehand(hall, p.Before)
	c, err := core.New(cfg)
	if err != nil {
		return nil, err
	}
	p.Entries = []session.Entry{{Time: epoch, Kind: core.KindRun, Run: j.info(&cfg)}}
	w := &World{Core: c, Probes: map[string]*Probe{}, ReadTimeout: cfg.Plan.ReadTimeout, before: p.Before}
	units := map[string]*session.Unit{}
	for _, u := range j.Compiled.Units {
		units[u.Info.Name] = u
		if w.Probes[u.Info.Probe] == nil {
			w.Probes[u.Info.Probe] = j.probe(w, hall, u.Info.Probe)
		}
	}
	w.Heard = func(e core.Entry) {
		e.Time = epoch.Add(w.Now())
		if u := units[e.Fixture]; u != nil && u.Head >= 0 {
			u.DressEntry(&e)
		}
		p.Entries = append(p.Entries, e)
		if j.Listen != nil {
			j.Listen(e)
		}
	}
	gov := safety.Config{Limits: j.Rig.Safety.Limits, Heads: j.Compiled.Heads, Start: j.Compiled.Start}
	wire, err := govern(w, gov, hall)
	if err != nil {
		return nil, err
	}
	w.Wire, wire.watch = wire, j.watch
	p.Err = w.Run(longestLamp * time.Duration(len(cfg.Units)+1))
	p.Took, p.Readings, p.Times = w.Now(), w.Readings, c.TypeTimes()
	p.HandBack = wire.handBack(longestBack)
	return p, nil
}

// probe is the meter at a place, at the pace of its feed. Meters do not run in step.
func (j Job) probe(w *World, hall *stage.Hall, name string) *Probe {
	pace := session.AssumedPace()
	if i, err := session.FeedOf(j.Rig.Feeds, name); err == nil {
		if known, ok := j.Meters[j.Rig.Feeds[i].Name]; ok {
			pace = known
		}
	}
	spec := j.Stage.MeterSpec()
	spec.Integration, spec.Latency, spec.Period = pace.Integration, pace.Latency, max(pace.Period, pace.Integration)
	if pace.SigmaUV > 0 {
		spec.SigmaUV = pace.SigmaUV
	}
	var spectra func() *spectrum.Spectrum
	if j.Stage.Spectro != nil {
		spectra = func() *spectrum.Spectrum { return hall.Spectrum(name) }
	}
	return &Probe{Name: name, Meter: stage.NewMeter(spec, j.Stage.Seed, name), OnRequest: pace.OnRequest, Spectrum: spectra,
		Phase: time.Duration(len(w.Probes)) * 37 * time.Millisecond % spec.Period,
		Light: func(d time.Duration) colorcalc.XYZ { hall.Leap(w.before + w.Now()); return hall.On(name, d) }}
}

// beforehand are the readings of the reference that the run has when it begins: those of the time before.
func (j Job) beforehand(hall *stage.Hall, before time.Duration) (all []core.Reading) {
	u := j.ReadBeforehand()
	if u == nil {
		return nil
	}
	w := &World{Probes: map[string]*Probe{}}
	p := j.probe(w, hall, u.Info.Probe)
	p.Meter = stage.NewMeter(p.Meter.Spec, j.Stage.Seed, "before "+u.Info.Probe)
	for begin := time.Duration(0); begin+p.Meter.Spec.Integration+p.Meter.Spec.Latency <= before; begin += max(p.Meter.Spec.Period, p.Meter.Spec.Integration) {
		w.now = begin
		light := p.Light(p.Meter.Spec.Integration)
		w.now += p.Meter.Spec.Integration
		if r, ok := p.read(w, light); ok {
			r.At -= before
			all = append(all, r)
		}
	}
	return all
}

func (j Job) info(cfg *core.Config) *session.RunInfo {
	i := &session.RunInfo{Version: core.JournalVersion, Program: j.Program, Rig: j.Rig.Name, Work: string(cfg.Work), Mode: string(j.Rig.Output.Mode), Rehearsal: true,
		Target: session.TargetText(j.Rig), Tolerance: cfg.Plan.Tolerance, Level: j.Rig.Target.Level, Limits: j.Rig.Safety.Limits.Describe(), Rates: j.Rates()}
	given := *cfg // it learns as it plays
	given.Batches = map[string]*solve.Batch{}
	for name, b := range cfg.Batches {
		given.Batches[name] = b.Clone()
	}
	i.Core = &given
	for _, u := range cfg.Units {
		i.Fixtures = append(i.Fixtures, u.Info)
	}
	return i
}
