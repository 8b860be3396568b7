package rehearse

import (
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/loop/session/core"
	"trueup/loop/stage"
)

// Probe is a meter. It runs by itself, one window after another, and is looked at while it is
// asked for readings now and then; or it reads when it is asked.
type Probe struct {
	Name  string
	Meter *stage.Meter
	Phase time.Duration // of its windows; at least 0
	// OnRequest: a window begins when a reading is asked for, and no sooner than it may.
	OnRequest bool
	// Light is what falls on it now, averaged over the next d, lux.
	Light func(d time.Duration) colorcalc.XYZ
	// Spectrum is the spectrum of the light now; nil: the meter is no spectrometer.
	Spectrum func() *spectrum.Spectrum
	// Seen changes that light into what its eyes see; nil for true eyes.
	Seen func(colorcalc.XYZ) colorcalc.XYZ
	// Spoil changes a reading before it is given; may be nil.
	Spoil func(*core.Reading)

	awake   bool
	asked   time.Duration // last
	waiting []core.Ask    // for a reading
	seq     uint64
	window  int // number of windows since the beginning
}

// looks at the light are taken in one window.
const looks = 4

// leastLux is the least light of which a meter tells a colour.
const leastLux = 0.05

// linger is how long a meter's windows are looked at after the last request.
const linger = 2 * time.Second

func (p *Probe) ask(w *World, a core.Ask) {
	p.waiting, p.asked = append(p.waiting, a), w.now
	switch {
	case p.OnRequest:
		p.open(w, max(w.now, a.After))
	case !p.awake:
		p.awake = true
		p.window = int(math.Ceil(float64(w.now-p.Phase) / float64(p.Meter.Spec.Period)))
		p.next(w)
	}
}

// next plans the next window of a meter that runs by itself.
func (p *Probe) next(w *World) {
	spec := &p.Meter.Spec
	begin := p.Phase + time.Duration(p.window)*spec.Period
	p.window++
	p.open(w, begin)
	w.At(begin+spec.Period, func() {
		if p.awake = len(p.waiting) > 0 || w.now-p.asked < linger || spec.Mean > 1; p.awake { // one that means its windows remembers those that nobody asked for
			p.next(w)
		}
	})
}

// open plans one window.
func (p *Probe) open(w *World, begin time.Duration) {
	spec := &p.Meter.Spec
	sum := new(colorcalc.XYZ)
	part := spec.Integration / looks
	for i := range looks {
		w.At(begin+time.Duration(i)*part, func() { *sum = sum.Add(p.Light(part)) })
	}
	w.At(begin+spec.Integration, func() {
		if r, ok := p.read(w, sum.Scale(1.0/looks)); ok {
			w.At(w.now+spec.Latency, func() { p.said(w, begin, r) })
		} else if p.OnRequest {
			p.open(w, w.now)
		}
	})
}

// read makes a reading of the light of a window that ends now; false for a dropout.
func (p *Probe) read(w *World, avg colorcalc.XYZ) (r core.Reading, ok bool) {
	spec := &p.Meter.Spec
	p.seq++
	r = core.Reading{At: w.now, Integration: spec.Integration, Told: !p.OnRequest, Probe: p.Name, Seq: p.seq, HasY: true, RoundXY: spec.RoundXY}
	if p.Seen != nil {
		avg = p.Seen(avg)
	}
	if avg.Y < leastLux {
		r.TooDark = true
		return r, true
	}
	s, ok := p.Meter.Read(avg, w.now)
	r.UV, r.Y = s.XY.UV(), s.Lux
	if p.Spectrum != nil && ok {
		r.Spectrum = spectrum.KeptOf(p.Spectrum())
	}
	return r, ok
}

// said hands a reading to the requests that it serves.
func (p *Probe) said(w *World, begin time.Duration, r core.Reading) {
	served := func(a core.Ask) bool { return begin >= a.After && (!r.TooDark || a.Dark || a.Faint) }
	if !slices.ContainsFunc(p.waiting, served) {
		return
	}
	if p.Spoil != nil {
		p.Spoil(&r)
	}
	p.asked = w.now
	for _, a := range p.waiting {
		if served(a) {
			w.Readings++
			w.Tell(core.Event{Kind: core.Read, Ask: a.ID, Reading: &r})
		}
	}
	p.waiting = slices.DeleteFunc(p.waiting, served)
}
