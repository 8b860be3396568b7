package core

import (
	"trueup/colorcalc"
	"trueup/loop/solve"
)

// secondVisit sets a unit to its matched setting again, takes fresh readings,
// and trims it when they say that it has moved since. The proof is in the
// fresh readings together with all before them; a unit that never landed is
// read again too, so that the report shows where it stands.
type secondVisit struct {
	u       *unit
	sure    float64 // asked for in the first readings; 0: as for any landing
	match   *solve.Match
	again   station
	reading bool // of the station; then the loop
	loop    matching
	over    bool
	late    watch // it is read long after it was lit
	waiting bool
	early   []glance
	doubted bool        // the background was asked for since the light differs from the claim
	stood   solve.Drive // where it had stood when the visit was begun anew; nil: it was not
	tries   int         // visits before this one that were in vain
}

// maxVerifyReadings bounds what proof may cost with a noisy meter.
const maxVerifyReadings = 6

func (v *secondVisit) unit() *unit { return v.u }

func (v *secondVisit) step(c *Core, in input) want {
	u := v.u
	switch {
	case v.over || v.outshone(c):
		return want{next: true}
	case in.refused != "":
		return v.held(c, in.refused)
	case v.match == nil:
		if u.final == nil || u.outcome == nil || u.outcome.Result == solve.Held || u.outcome.Result == solve.Unsettled && c.tooRestless(u) {
			return want{next: true}
		}
		if err := v.begin(c); err != nil {
			return want{fail: err}
		}
	}
	if v.reading {
		w := v.again.step(c, in)
		if in.reading != nil && !v.doubted && c.unlike(u) {
			v.doubted = c.doubt(u, false)
		}
		if !w.next {
			return w
		}
		if v.again.weak != nil {
			return v.held(c, v.again.weak.noLight(v.again.dim.n))
		}
		v.reading, in = false, input{}
		if v.again.heard != nil && v.again.stands != nil {
			v.waiting = true
			v.late.begin(c, &v.again, v.early)
		}
	}
	if v.waiting {
		w := v.late.step(c, in)
		if !w.next {
			return w
		}
		if v.late.weak != nil {
			return v.held(c, v.late.weak.noLight(v.late.dim.n))
		}
		v.waiting, in = false, input{}
		if err := v.learn(c); err != nil {
			return want{fail: err}
		}
	}
	w := v.loop.step(c, u, v.match, in)
	if w.next {
		u.watching = false
		c.finishUnit(u, v.match, v.loop.ended, KindVerify)
		if v.loop.inVain && v.tries < mostVainVisits && u.tally.kept < mostTypedLamp && c.sparesAnswers(u) != nil {
			c.lane.tasks = append([]task{&secondVisit{u: u, sure: v.sure, tries: v.tries + 1}}, c.lane.tasks...)
		}
	}
	return w
}

// outshone tells whether nothing can be claimed of the unit any more because of a light beside its probe, and takes back what was, unless it is of before that light and holds.
func (v *secondVisit) outshone(c *Core) bool {
	why := c.blinking(v.u)
	if why == "" {
		return false
	}
	v.over, v.u.watching = true, false
	if k := v.u.claim; k != nil && k.calm && c.holds(k) >= keepAt {
		return true
	}
	if v.u.outcome != nil && believed(v.u.outcome.Result) {
		c.unclaimed(v.u, why, KindVerify)
	}
	return true
}

// begin sets out from what is known of the unit.
func (v *secondVisit) begin(c *Core) error {
	u := v.u
	if u.prior != nil {
		u.prior.IdleSeconds = (c.now - u.read).Seconds() // its warmth has moved since
	}
	c.begins(u)
	m, err := v.asFirst(c)
	if err != nil {
		return err
	}
	v.match = m
	if c.commonLux != 0 {
		return nil
	}
	v.reading = true
	v.again = station{u: u, match: m, drive: u.final, why: "verify", left: min(colorcalc.ReadingsFor(c.noiseAt(u.Info.Probe).sigmaUV(), c.cfg.Plan.Tolerance), maxVerifyReadings)}
	if o := u.outcome; o.Result == solve.Predicted && o.Probability < keepAt {
		v.again.left = 1 // it is likely to go on from there
	}
	if u.watching = c.watches(u); u.watching {
		v.again.left = max(v.again.left, lateReadings)
		v.again.heard = func(r solve.Reading) { v.early = append(v.early, glance{c.now - v.again.stands.At, r}) }
	}
	return nil
}

// asFirst begins at where the unit stood if what was read of it is forgotten: what the profile or its sisters say may lead far from there.
func (v *secondVisit) asFirst(c *Core) (*solve.Match, error) {
	m, err := c.newMatch(v.u, v.sure)
	if err != nil || v.u.prior != nil {
		return m, err
	}
	at := v.stood
	if at == nil {
		at = v.u.final
	}
	m.BeginAt(at)
	return m, nil
}

func (v *secondVisit) goOnWith(m *solve.Match) {
	v.match = m
	v.again.goOnWith(m)
	v.loop.goOnWith(m)
}

// learn gives the late readings to the match: to a fresh one where the lamp is another by then.
func (v *secondVisit) learn(c *Core) error {
	u := v.u
	if known := u.moves > 0; c.told(&v.late) && !known {
		u.forget()
		u.given = nil
		m, err := v.asFirst(c)
		if err != nil {
			return err
		}
		v.match = m
	}
	for _, g := range v.late.late {
		r := g.r
		c.gave(u, &r)
		v.match.Common(c.common(u.Info.Probe, r.UV.XYZ(r.Y)))
		c.account(u, v.match.Observe(r))
	}
	return nil
}

// held ends the visit without a verdict: what the first visit found stays on
// record beside it.
func (v *secondVisit) held(c *Core, why string) want {
	v.over, v.u.watching = true, false
	v.u.claim = nil
	v.u.outcome = c.outcomeOf(v.u, solve.Decision{Outcome: solve.Held, Reason: why})
	c.enter(Entry{Kind: KindVerify, Fixture: v.u.Info.Name, Outcome: v.u.outcome})
	return want{next: true}
}

// renew begins the visit anew; what the first one taught stays.
func (v *secondVisit) renew(*Core) {
	v.u.watching = false
	*v = secondVisit{u: v.u, doubted: true, stood: v.u.stood}
}

func (v *secondVisit) skipped(c *Core, why string) { v.held(c, why) }
