package core

import (
	"fmt"
	"slices"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/solve"
)

// firstVisit brings one unit to the reference: read it as found where that is of use, measure how long its
// light takes, then let the loop match it. That a unit does not land is an outcome, not
// an error.
type firstVisit struct {
	u     *unit
	wish  *Wished // a colour of its own, where a palette is read; nil: the reference
	phase visitPhase
	match *solve.Match
	found station
	seen  bool // as found
	anew  bool // once the dead time is known: it was taken to be shorter than it is
	dead  deadTime
	loop  matching
}

// visitPhase is how far a first visit has come.
type visitPhase uint8

const (
	fresh visitPhase = iota
	readingFound
	learningDeadTime
	inLoop
	left
)

func (v *firstVisit) unit() *unit { return v.u }

func (v *firstVisit) step(c *Core, in input) want {
	if in.refused != "" {
		return v.end(c, solve.Decision{Outcome: solve.Held, Reason: in.refused})
	}
	if v.phase == left {
		return want{next: true}
	}
	if v.phase == fresh && v.wish != nil {
		c.seek(v.u, v.wish)
	}
	if why := c.blinking(v.u); why != "" {
		v.phase = left
		c.visit(v.u)
		if d := (solve.Decision{Outcome: solve.Unsettled, Reason: why}); v.match != nil && c.ofTheDark(v.u, &d) {
			return v.end(c, d)
		}
		c.unclaimed(v.u, why, KindOutcome)
		return want{next: true}
	}
	if v.phase == fresh {
		if err := v.begin(c); err != nil {
			return want{fail: err}
		}
	}
	if v.phase != learningDeadTime && v.dead.moved(c, in.reading) {
		v.phase, v.anew = learningDeadTime, true
	}
	if w := v.beforeLoop(c, &in); w != nil {
		return *w
	}
	w := v.loop.step(c, v.u, v.match, in)
	if !w.next {
		return w
	}
	w = v.end(c, v.loop.ended)
	c.mayBeWronglyHeld(v.u, v.loop.ended)
	return w
}

// beforeLoop is what a visit wants before its loop begins; nil for nothing more. It takes from in what was meant for that.
func (v *firstVisit) beforeLoop(c *Core, in *input) *want {
	if v.phase == learningDeadTime && (!v.seen || v.anew) {
		if w := v.dead.step(c, *in); !w.next {
			return &w
		}
		if *in = (input{}); v.anew {
			v.renew(c)
			w := v.step(c, *in)
			return &w
		}
		v.phase = readingFound
		v.loop.stays = true
		if slices.Equal(v.u.at.Sent, v.found.drive) {
			v.found.stays(c)
			in.reading = v.dead.stood
		} else {
			v.loop.stood = v.dead.stood
		}
	}
	if v.phase == readingFound {
		if w := v.found.step(c, *in); !w.next {
			return &w
		}
		*in, v.seen = input{}, true // a lamp that gives no light as found may give some when matched
		v.loop.dim = v.found.dim.elsewhere(v.found.weak)
		v.u.untold = v.found.weak != nil
		v.phase = inLoop
		if v.dead.u == nil && v.dead.begin(c, v.u, nil) {
			v.phase = learningDeadTime
		}
	}
	if v.phase == learningDeadTime {
		if w := v.dead.step(c, *in); !w.next {
			return &w
		}
		*in = input{}
		v.phase = inLoop
	}
	return nil
}

func (v *firstVisit) begin(c *Core) error {
	c.visit(v.u)
	c.begins(v.u)
	m, err := v.asFirst(c)
	if err != nil {
		return err
	}
	v.match = m
	drive := v.u.Found
	v.u.unread, v.u.untold = nil, false
	if drive == nil && v.u.prior == nil {
		if drive, err = c.nominal(v.u); err != nil {
			return err
		}
		if c.passesOver(v.u, m, drive) {
			v.u.unread, v.u.before, drive = drive, &Step{Action: notSet, Codes: drive}, nil
		}
	}
	v.phase = readingFound
	why := "as found"
	if v.wish != nil {
		drive, why = v.wish.Codes, "as predicted"
	}
	v.found = station{u: v.u, match: m, drive: drive, why: why, left: 1, onWay: true}
	if drive == nil {
		v.found = station{u: v.u, began: true} // nothing to read: done at once
	}
	if !v.u.bright && v.dead.begin(c, v.u, drive) {
		v.phase = learningDeadTime // the fade from dark shows it best, and what is read as found waits for as long then
	}
	return nil
}

func (v *firstVisit) asFirst(c *Core) (*solve.Match, error) {
	if v.wish != nil {
		return c.newMatch(v.u, sureAgain)
	}
	return c.newMatch(v.u, 0)
}

func (v *firstVisit) goOnWith(m *solve.Match) {
	v.match = m
	v.found.goOnWith(m)
	v.loop.goOnWith(m)
}

// end keeps what was learnt and records the outcome.
func (v *firstVisit) end(c *Core, d solve.Decision) want {
	v.phase = left
	if v.match == nil { // refused or skipped before it began
		return want{next: true}
	}
	if d = c.finishUnit(v.u, v.match, d, KindOutcome); notSeen(d) {
		v.dead.takeBack(c, v.u.SettleKey())
	}
	if b := c.cfg.Batches[v.u.Type]; b != nil && v.wish == nil && (d.Outcome == solve.Landed || d.Outcome == solve.Predicted) {
		b.Learn(v.u.Spec, *v.u.prior)
	}
	return want{next: true}
}

func (v *firstVisit) skipped(c *Core, why string) {
	v.end(c, solve.Decision{Outcome: solve.Held, Reason: why})
}

func (v *firstVisit) restart(c *Core) {
	u := v.u
	u.tally, u.found, u.before = tally{}, nil, nil
	*v = firstVisit{u: u, wish: v.wish}
}

// renew begins the visit anew; what it has cost still counts.
func (v *firstVisit) renew(c *Core) {
	u := v.u
	u.tally.kept, u.tally.last, u.found = 0, nil, nil
	if u.unread != nil { // whether it is read as found is decided anew
		u.unread, u.before = nil, nil
	}
	*v = firstVisit{u: u, wish: v.wish, dead: deadTime{shown: v.dead.shown}}
}

// matching runs the loop (package loop) on a unit until its match is done.
type matching struct {
	visit *loop.Visit
	dim   dim
	odd   int // readings in a row that the estimate set aside
	ended solve.Decision
	over  bool
	stays bool     // it stands already where the first step may lead
	stood *Reading // made there; nil: none was
	// doubted tells that the background was asked for since the readings are odd.
	doubted bool
	audit   audit
	taken   int // readings that the match was given
	leapt   int // times that it was to be held while its level had leapt
	inVain  bool
}

func (m *matching) step(c *Core, u *unit, match *solve.Match, in input) want {
	var h loop.Happened
	switch {
	case m.over: // it has gone to the point where it ends
		c.stood(u, Step{Action: "sent", Codes: in.arrived.Sent})
		if m.ended.Outcome == solve.Predicted && !slices.Equal(in.arrived.Sent, m.ended.Drive) {
			m.ended.Outcome, m.ended.Reason = solve.Unsettled, "its limits did not let it take the last step"
		}
		return want{next: true}
	case in.arrived != nil:
		h.Arrived = in.arrived
		c.stood(u, Step{Action: "sent", Codes: in.arrived.Sent, Predicted: m.visit.Final.Predicted, PredictedSD: m.visit.Final.PredictedSD})
	case in.reading != nil:
		net, w := c.netOf(u, in.reading)
		if w != nil {
			m.dim.add(c)
			c.setAside(u, in.reading, w.why)
			u.weakAt = u.at.At
			switch {
			case !w.coloured && m.dim.n >= soonOut && m.looksAside(c, u):
				return want{set: &move{unit: u, drive: u.stood}}
			case !m.dim.decides(c) && !(u.glows != "" && m.dim.n >= weakReadings):
			case !w.coloured && match.Unseen(m.visit.At.Sent, c.around(u)):
				m.dim = dim{}
				return m.next(c, u, m.visit.Step(c.now, h))
			case c.mayBeStale(u, w):
			default:
				c.unlit(u, w)
				m.ended = solve.Decision{Outcome: solve.Held, Reason: u.withGlow(w.noLight(m.dim.n))}
				return want{next: true}
			}
			return want{read: c.askOf(u, m.dim.next(c))}
		}
		m.dim = dim{}
		if c.inBeam(u, match, in.reading, &net, true) {
			return want{read: c.askOf(u, in.reading.At+beamPause)}
		}
		if m.audits(c, u, in.reading, &net) || c.risesYet(u, in.reading, &net) {
			return want{read: c.askOf(u, in.reading.At)}
		}
		net.Drive, net.Around, net.Dark = m.visit.At.Sent, c.around(u), u.inTheDark
		c.keepReading(u, in.reading, &net)
		c.gave(u, &net)
		match.Common(c.common(u.Info.Probe, net.UV.XYZ(net.Y)))
		h.Reading = &net
	case m.visit == nil:
		m.visit = &loop.Visit{Match: match, At: u.at}
	}
	m.visit.Settle = u.settle // it may have been found to be shorter meanwhile
	n := m.visit.Step(c.now, h)
	return m.next(c, u, n)
}

func (m *matching) goOnWith(match *solve.Match) {
	if m.visit != nil {
		m.visit.Match = match
	}
}

// next does what the visit asks for.
func (m *matching) next(c *Core, u *unit, n loop.Next) want {
	if n.Account != nil {
		c.account(u, *n.Account)
		if m.odd++; n.Account.Verdict != solve.Outlier {
			m.odd = 0
		}
		if m.odd == 2 && !m.doubted && c.doubt(u, false) { // two in a row: look at the dark before the lamp is blamed
			m.doubted = true
		}
	}
	if n.Account != nil && !n.Done && (m.hurries(c, u) || m.isInVain(c, u)) {
		return want{next: true}
	}
	switch {
	case n.Move != nil:
		return m.moves(c, u, n)
	case !n.Done:
		return want{read: c.askOf(u, n.Read)}
	}
	m.ended = m.visit.Final
	if u.tally.kept < leastKept && m.ended.Outcome != solve.Held && m.ended.Outcome != solve.Predicted {
		// No reading decides alone, however clear it looks: the match looks at one more. What another visit goes on from
		// decides nothing.
		return want{read: c.askOf(u, 0)}
	}
	if m.ended.Outcome == solve.Held && u.leap.by != 0 && m.leapt < mostLeapt {
		m.leapt++
		return want{read: c.askOf(u, 0)} // its level is another now: what was read before may have been of another light
	}
	if m.ended.Outcome != solve.Landed && m.ended.Outcome != solve.Predicted && !m.doubted && c.doubt(u, m.ended.Outcome == solve.Held) {
		m.doubted = true
		return want{read: c.askOf(u, 0)}
	}
	// The match may end on a better point than the last one read.
	if d := m.ended.Drive; d != nil && !slices.Equal(d, u.at.Sent) {
		s := Step{Action: "end", Codes: d, Words: "the match ends on this point"}
		if e := m.ended; e.Outcome == solve.Predicted {
			s.Predicted, s.PredictedSD, s.Probability, s.Words = e.Predicted, e.PredictedSD, e.P, e.Reason
		}
		c.decided(u, s)
		if m.ended.Outcome == solve.Predicted && len(u.Dark) > 0 && !c.cfg.Plan.KeepLit {
			u.ahead = d // it goes dark next, and takes its colour on the way: nobody reads it here
			return want{next: true}
		}
		m.over = true
		return want{set: &move{unit: u, drive: d}}
	}
	return want{next: true}
}

// moves sends a unit where its visit wants it. Where it stands there already, what was read of it there begins the match.
func (m *matching) moves(c *Core, u *unit, n loop.Next) want {
	d := n.Decision
	c.decided(u, Step{Action: d.Action.String(), Codes: d.Drive, Predicted: d.Predicted, PredictedSD: d.PredictedSD, Probability: d.P, Words: d.Reason})
	stays, stood := m.stays && slices.Equal(n.Move, u.at.Sent), m.stood
	m.stays, m.stood = false, nil
	if stays {
		at := u.at
		if w := m.step(c, u, m.visit.Match, input{arrived: &at}); stood == nil {
			return w
		}
		return m.step(c, u, m.visit.Match, input{reading: stood})
	}
	if stood != nil {
		c.timesOnly(u, stood)
	}
	w := &move{unit: u, drive: n.Move}
	if u.tally.last != nil && u.bright {
		at, _ := m.visit.Match.Expect(u.at.Sent)
		w.by = colorcalc.UV{U: d.Predicted.U - at.U, V: d.Predicted.V - at.V}
	}
	return want{set: w}
}

// hurries ends the match of a unit beside whose probe the light goes too fast, after a few readings.
func (m *matching) hurries(c *Core, u *unit) bool {
	if m.taken++; m.taken < hurriedRead || !c.tooRestless(u) {
		return false
	}
	m.ended = solve.Decision{Outcome: solve.Unsettled, Reason: c.restlessLight(u)}
	return true
}

// mostLeapt readings more are taken before a unit is held whose level has leapt: one tells whether it did, and before the next the dark is read, if it
// may be.
const mostLeapt = 2

// leastKept readings of a unit stand behind every outcome.
const leastKept = 2

// newMatch begins from what is known of a unit, or else of its sisters. sure is asked for in the
// first readings; 0: as for any landing.
func (c *Core) newMatch(u *unit, sure float64) (*solve.Match, error) {
	prior := u.prior
	if prior == nil && u.Type != "" {
		var err error
		if prior, err = c.batchPrior(u); err != nil {
			return nil, err
		}
	}
	return c.matchFrom(u, prior, sure)
}

func (c *Core) matchFrom(u *unit, prior *solve.Prior, sure float64) (*solve.Match, error) {
	opt := solve.DefaultOptions()
	opt.Sure = sure
	opt.SigmaUV, opt.SigmaLnY, opt.Level = c.noiseAt(u.Info.Probe).sigmaUV(), c.noiseAt(u.Info.Probe).sigmaLnY(), u.Level
	opt.Sample, opt.Settle = c.costs(u, opt.Sample)
	opt.Wish, opt.Likeness = c.spendOn(u)
	opt.Budget = c.budgetBeside(u, opt.Budget)
	opt.Former = u.outcome != nil && u.outcome.Result == solve.Landed && c.commonLux == 0
	if u.outcome == nil && c.readLater() {
		if opt.LastStep = goOnFrom; c.cfg.Plan.HandMeter { // the background is read between the rounds alone, and is known best on the first
			opt.LastStep = opt.Confidence
		}
	}
	if prior != nil && prior == u.prior {
		opt.Earlier, opt.Past = u.tally.kept-len(u.given), u.past
	}
	ref, sd := c.target()
	spec := u.Spec
	spec.Modes = c.cfg.Modes[u.Type]
	m, err := solve.New(spec, solve.Target{UV: ref, SigmaUV: sd, Tol: c.cfg.Plan.Tolerance, Y: c.commonLux, TolY: commonTolerance}, prior, opt)
	if err != nil {
		return nil, fmt.Errorf("profile %s: %w", u.Info.Profile, err)
	}
	return m, nil
}

// goOnFrom is the probability to be inside the tolerance from which a first visit leaves the rest to the second: that
// reads the unit once in any case. A step and a reading more on the first visit cost as much there as they save later; a large
// step costs more, for the pace of large steps makes the fade after it wait; and what they find drifts until then. Below this the end of
// the step is too uncertain: a reading there teaches the type as well.
const goOnFrom = 0.3

// readLater tells whether a unit is read again on a second visit whatever the first one brings, so
// that its last step need not be read there.
func (c *Core) readLater() bool {
	return c.cfg.Work == Match && c.cfg.Plan.SecondVisit && c.cfg.Plan.Common == "" && c.commonLux == 0
}

// nominal is where a unit stands when it is set as its profile says, if the
// match would not begin there anyway: units of the same type have taught
// better. Nil: the first step of the match is the nominal setting.
func (c *Core) nominal(u *unit) (solve.Drive, error) {
	if b := c.cfg.Batches[u.Type]; b == nil || b.Units == 0 {
		return nil, nil
	}
	m, err := c.matchFrom(u, nil, 0)
	if err != nil {
		return nil, err
	}
	return m.Next(c.now).Drive, nil
}

// batchPrior is what the units of the type so far say of the next one. A batch
// that does not fit any more is begun anew.
func (c *Core) batchPrior(u *unit) (*solve.Prior, error) {
	if b := c.cfg.Batches[u.Type]; b != nil {
		if p, err := b.Prior(u.Spec); err == nil {
			return p, nil
		}
	}
	b, err := solve.NewBatch(u.Spec)
	if err != nil {
		return nil, fmt.Errorf("profile %s: %w", u.Info.Profile, err)
	}
	c.cfg.Batches[u.Type] = b
	return b.Prior(u.Spec)
}
