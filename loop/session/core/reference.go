package core

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/loop/scene"
	"trueup/loop/solve"
	"trueup/profiles/printable"
)

// reference reads the light everything is matched to, often enough that the
// meter's scatter becomes known with it. A named colour needs no reading.
type reference struct {
	again   bool // a later passage: where it is now
	most    int  // readings of a later passage
	along   bool // the background is still read: so is the reference, and its last mostReference readings count
	rides   bool // it is read for no other reason than that the background is: no longer than that
	u       *unit
	began   bool
	after   time.Duration
	uv      []colorcalc.UV
	lnY     []float64 // NaN where the feed has no level
	light   []*spectrum.Spectrum
	at      []time.Duration
	dim     dim
	dark    *backgrounds // a look at the dark before it is said to give no light; nil: none is made now
	earlier int          // of the readings: those made before the run
	unlike  string       // how that differs from what was read in the dark, in words; "": it does not
	shade   *shadow      // that may be on it; nil: none
	pure    pure         // what was read of it before dark lamps were sent their colour
	anew    bool         // it is read anew, for one of those may have shone
	before  *reference   // with what was read before the run, until it is known whether that counts; nil: nothing was
}

func (r *reference) unit() *unit { return r.u }

func (r *reference) step(c *Core, in input) want {
	if r.dark != nil {
		if w := r.dark.step(c, in); !w.next {
			return w
		}
		r.dark, r.began, r.dim, in = nil, false, dim{}, input{}
		r.forget(len(r.uv)) // they may have been of the light that has changed
	}
	switch {
	case in.refused != "":
		return want{fail: fmt.Errorf("the reference: %s", in.refused)}
	case in.arrived != nil:
		if r.after = in.arrived.At + c.slowest(); r.u.Head < 0 {
			r.after = c.darkBy("", in.arrived.At)
		}
		if !r.again && !r.anew {
			r.recalls(c)
		}
	case in.reading != nil:
		switch w := r.take(c, in.reading); {
		case w == nil || !r.dim.decides(c):
		case c.mayBeStale(r.u, w):
			r.dark = &backgrounds{only: r.u.Info.Probe}
			return r.dark.step(c, input{})
		default:
			return want{fail: fmt.Errorf("the reference: %s", w.noLight(r.dim.n))}
		}
	case !r.began:
		r.began = true
		t := c.cfg.Plan.Target
		if t.Reference == "" {
			c.ref = &Reference{Name: t.Text, UV: t.UV}
			c.enter(Entry{Kind: KindReference, Reference: c.ref, Note: "a named colour, not measured"})
			return want{next: true}
		}
		r.u, r.after = c.find(t.Reference), c.now
		if r.u.Head >= 0 {
			return want{set: &move{unit: r.u, drive: r.u.Lit}}
		}
		if !c.cfg.Plan.KeepLit { // what is lit may light the reference's probe too
			return want{dark: true}
		}
	}
	if r.again && c.several() {
		r.along = c.darkElsewhere(r)
	}
	if !r.again {
		r.judges(c)
	}
	if r.outshone(c) {
		r.anew = true
		return want{dark: true}
	}
	if !r.enough(c) {
		return want{read: &Ask{Probe: r.u.Info.Probe, After: max(r.after, r.dim.next(c)), Faint: !c.cfg.Plan.HandMeter}}
	}
	if r.again {
		r.follow(c)
	} else {
		r.keep(c)
	}
	return want{next: true}
}

// Figures of reading the reference again.
const (
	referenceAgain = 0.2 // of the tolerance: a standard deviation that asks for it
	referenceSoon  = 0.3 // that asks for it in the middle of a visit
	referenceKnown = 0.7 // of that it is read down to, so that it does not ask again at once
	nextReference  = 3   // readings before a visit; two where both are of the light that it is known to be,
	asItWas        = 3.0 // standard deviations about that
	retargets      = 0.1 // of the tolerance, by which it has moved: visits that wait meanwhile go on to where it is
	endReference   = 5   // readings after a round; nextReference where it is read in turn with the background
	mostReference  = 40  // readings of any passage
	mostTyped      = 12  // of one that a person reads: more would tire

	changedReadings = 4 // of another light at the end of a passage: it jumped; the first may hold some of both
)

// changedFrom is the first of the readings from which on all lie far from those before: another light. Their number where
// none does.
func changedFrom(uv []colorcalc.UV, sigma float64) int {
	for i := 2; i < len(uv); i++ {
		was := medianUV(uv[:i])
		if !slices.ContainsFunc(uv[i:], func(z colorcalc.UV) bool { return z.Dist(was) <= farOff*sigma }) {
			return i
		}
	}
	return len(uv)
}

// forget takes out the readings before the one with that index.
func (r *reference) forget(before int) {
	r.uv, r.lnY, r.light, r.at = r.uv[before:], r.lnY[before:], r.light[before:], r.at[before:]
}

// readable tells whether the reference can be known well enough by one passage at all. With a meter
// too noisy for that it is read between the rounds alone: more readings would not help.
func (c *Core) readable() bool {
	return c.moving.After(mostReference, c.noiseOfRef().sigmaUV(), c.now) <= referenceAgain*c.cfg.Plan.Tolerance
}

// enough tells whether the reference has been read as often as its doubt asks. Its error is common
// to all lamps, so the first time it is read the more often the more lamps there are:
// sqrt(2 lamps) times the readings that one point takes.
func (r *reference) enough(c *Core) bool {
	n, tol := len(r.uv), c.cfg.Plan.Tolerance
	most, known := mostReference, referenceKnown*referenceAgain
	if c.cfg.Plan.HandMeter {
		most, known = mostTyped, referenceAgain // who does not ask again by a rule, but where it saves answers, need not stay below it
	}
	if r.again {
		return !r.along && !r.turning(c) && (n >= r.most || n >= 2 && r.asKnown(c)) &&
			(r.rides || n >= most || !c.readable() || c.moving.After(n, c.noiseAt(r.u.Info.Probe).sigmaUV(), c.now) <= known*tol)
	}
	if n < c.cfg.Plan.ReferenceReadings {
		return false
	}
	if n >= most {
		return true
	}
	near := byScatter(r.uv)
	noise := *c.noiseAt(r.u.Info.Probe)
	noise.learn(pick(r.uv, near), pick(r.lnY, near))
	lamps := 0
	c.each(func(*unit) { lamps++ })
	return float64(n) >= math.Sqrt(2*float64(lamps))*float64(colorcalc.ReadingsFor(noise.sigmaUV(), tol))
}

// asKnown tells whether all readings of a later passage are of the light that the reference is known to be: two are enough then.
func (r *reference) asKnown(c *Core) bool {
	at, sd := c.moving.Now(c.now)
	sigma := math.Hypot(sd, c.noiseAt(r.u.Info.Probe).sigmaUV())
	return !slices.ContainsFunc(r.uv, func(z colorcalc.UV) bool { return z.Dist(at) > asItWas*sigma })
}

// turning tells whether the reference may have turned into another light just now, or whether too few readings agree to see that it has: the
// next readings tell.
func (r *reference) turning(c *Core) bool {
	n, sigma := len(r.uv), c.noiseAt(r.u.Info.Probe).sigmaUV()
	if n < r.most || n >= mostReference+changedReadings {
		return false
	}
	tail := n - changedFrom(r.uv, sigma)
	return tail > 0 && tail < changedReadings || n < r.most+2 && len(nearMedian(r.uv, sigma)) < min(r.most, nextReference)
}

// follow takes a later passage in: lamps are matched to where the reference is now.
func (r *reference) follow(c *Core) {
	if i := changedFrom(r.uv, c.noiseAt(r.u.Info.Probe).sigmaUV()); len(r.uv)-i >= changedReadings {
		r.forget(i)
	}
	near := nearMedian(r.uv, c.noiseAt(r.u.Info.Probe).sigmaUV())
	was := c.ref.UV
	c.keepsRef()
	uv, lnY := pick(r.uv, near), pick(r.lnY, near)
	c.refLux = middleLux(lnY)
	last := max(0, len(uv)-mostKnown) // over more it may have wandered
	c.noiseAt(r.u.Info.Probe).again(uv[last:], lnY[last:])
	jumped := c.moving.Passage(uv, c.noiseAt(r.u.Info.Probe).sigmaUV(), pick(r.at, near))
	c.followed, c.following = c.looked, r.at[len(r.at)-1]-r.at[0]
	now := *c.ref
	uvNow, sd := c.moving.Now(c.now)
	if c.cfg.Plan.Target.Freeze {
		now.Moved = uvNow.Dist(was)
		c.ref = &now
		c.enter(Entry{Kind: KindReference, Fixture: r.u.Info.Name, Reference: c.ref, Note: fmt.Sprintf(
			"read again: %.4f from where it was at first, known to ± %.4f; it is frozen, and fixtures are matched to where it was at first", now.Moved, sd)})
		return
	}
	now.UV, now.SigmaUV = uvNow, sd
	if k := spectrum.KeptOf(MeanSpectrum(pick(r.light, near))); k != nil {
		now.Spectrum = k
	}
	now.Readings += len(uv)
	c.ref = &now
	moved := now.UV.Dist(was)
	note := fmt.Sprintf("read again: %.4f from where it was, known to ± %.4f", moved, now.SigmaUV)
	switch {
	case jumped:
		note += "; it is another light now, and fixtures are matched to that"
	case moved > c.cfg.Plan.Tolerance/2:
		note += "; it has moved, and fixtures are matched to where it is now"
	}
	if c.sway.moved(was, now.UV, now.SigmaUV, c.cfg.Plan.Tolerance) {
		note += fmt.Sprintf("; %s: what is matched to it holds for a short time only; %s", c.sway.words(), c.sway.advice())
	}
	c.enter(Entry{Kind: KindReference, Fixture: r.u.Info.Name, Reference: c.ref, Note: note})
	if moved > retargets*c.cfg.Plan.Tolerance {
		c.retarget()
	}
}

// retarget has the visits that wait while the reference was read go on to where it is now: their matches are made anew from what they have read. A match that knows
// of a setting without light goes on as it is.
func (c *Core) retarget() {
	c.eachWaiting(func(v remakes, u *unit) {
		if v.inLoop() && !v.has().HasUnseen() {
			c.makeAnew(v, u)
		}
	})
}

// take keeps one reading of the reference.
func (r *reference) take(c *Core, raw *Reading) *weak {
	net := solve.Reading{UV: raw.UV, Y: raw.Y, HasY: raw.HasY}
	if part, is := r.inShade(c, raw); is {
		r.dim = dim{}
		c.setAside(r.u, raw, fmt.Sprintf("it gives %.0f %% less light than before: somebody may stand in it", 100*(1-part)))
		return nil
	}
	if r.u.Head >= 0 || raw.TooDark {
		var w *weak
		if net, w = c.net(raw); w != nil {
			r.dim.add(c)
			c.setAside(r.u, raw, w.why)
			return w
		}
	}
	r.dim = dim{}
	if r.along && len(r.uv) >= mostReference { // its last look counts, of whatever length
		r.forget(1)
	}
	if r.uv = append(r.uv, net.UV); len(r.uv) == presetFrom && !r.again && r.u.Head < 0 {
		r.sendsColours(c, r.uv)
	}
	y := math.NaN()
	if net.HasY && net.Y > 0 {
		y = math.Log(net.Y)
	}
	r.lnY = append(r.lnY, y)
	r.at = append(r.at, raw.At)
	r.light = append(r.light, c.ownLight(raw, r.u.Head >= 0))
	m := c.measured(raw, net)
	c.enter(Entry{Kind: KindReading, Fixture: r.u.Info.Name, Reading: &m})
	return nil
}

// keep makes the reference of all readings.
func (r *reference) keep(c *Core) {
	near := byScatter(r.uv) // the meter may hiccup once
	uv, lnY := pick(r.uv, near), pick(r.lnY, near)
	c.noiseAt(r.u.Info.Probe).learn(uv, lnY)
	lux, n := 0.0, 0
	for _, y := range nearLevel(lnY) {
		lux, n = lux+math.Exp(y), n+1
	}
	if n > 0 {
		lux /= float64(n)
	}
	c.refLux = middleLux(lnY)
	c.refAt, c.refBefore, c.doubtedRef = r.at[len(r.at)-1], nil, false
	sure := max(len(uv)-r.earlier/2, (len(uv)+1)/2)
	c.ref = &Reference{Name: r.u.Info.Name, Frozen: c.cfg.Plan.Target.Freeze, UV: meanUV(uv), Lux: lux, Readings: len(uv), MeterSigmaUV: c.noiseAt(r.u.Info.Probe).sigmaUV(),
		SigmaUV: c.noiseAt(r.u.Info.Probe).sigmaUV() / math.Sqrt(float64(sure)), Spectrum: spectrum.KeptOf(MeanSpectrum(pick(r.light, near)))}
	if c.cfg.Work != ByHand {
		c.moving = scene.NewReference(c.ref.UV, sure, c.noiseAt(r.u.Info.Probe).sigmaUV(), r.at[len(r.at)-1])
	}
	note := fmt.Sprintf("mean of %s, one scatters by %.4f", printable.Count(len(uv), "reading"), c.ref.MeterSigmaUV)
	note += r.unlike
	if aside := len(r.uv) - len(uv); aside > 0 {
		note += fmt.Sprintf("; %d more lay far from the others and were set aside", aside)
	}
	note += c.tooFine()
	c.enter(Entry{Kind: KindReference, Fixture: r.u.Info.Name, Reference: c.ref, Note: note})
}

// noisyReadings a point are more than a person expects, and noisyTyped more than they like to type; why it takes so long is then said before any
// lamp is matched, with the tolerance that takes solve.FairReadings, or fairTyped.
const (
	noisyReadings = 8
	noisyTyped    = 3
	fairTyped     = 2
)

// tooFine says, of a reference just read for the first time, that the tolerance takes many readings of every lamp, or more than help, and which
// would do. Empty where it takes no more than a person expects.
func (c *Core) tooFine() string {
	noisy, fair := noisyReadings, solve.FairReadings
	if c.cfg.Plan.HandMeter {
		noisy, fair = noisyTyped, fairTyped
	}
	sigma, tol, common := c.noiseOfRef().sigmaUV(), c.cfg.Plan.Tolerance, 0.0
	if c.ref.SigmaUV > referenceSoon*tol { // it was not read as often as it should have been
		common = c.ref.SigmaUV
	}
	n := math.Ceil(c.pointBeside(nil, 0, common))
	if n <= float64(noisy) {
		return ""
	}
	does := "no number of readings carries"
	if !math.IsInf(n, 1) {
		does = fmt.Sprintf("it takes about %.0f readings a point to carry", n)
	}
	would := math.Sqrt(colorcalc.Square95 * (sigma*sigma/float64(fair) + common*common))
	return fmt.Sprintf("; %s a tolerance of %.4f: give the meter more light or a longer integration, or take a tolerance of %.4f, for which %d would do",
		does, tol, math.Ceil(would*1e4)/1e4, fair)
}
