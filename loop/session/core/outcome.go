package core

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// visit starts the count of what a unit costs.
func (c *Core) visit(u *unit) {
	if !u.tally.visited {
		u.tally.visited, u.tally.began = true, c.now
	}
}

// decided enters a setting before it is sent.
func (c *Core) decided(u *unit, s Step) {
	s.Codes = slices.Clone(s.Codes)
	c.enter(Entry{Kind: KindStep, Fixture: u.Info.Name, Step: &s})
}

// stood enters what the wire really reached.
func (c *Core) stood(u *unit, s Step) {
	s.Codes = slices.Clone(s.Codes)
	c.learnRepeats(u)
	if u.before == nil {
		u.before = &s
	}
	c.enter(Entry{Kind: KindSent, Fixture: u.Info.Name, Step: &s})
}

// keepReading enters a reading of a unit; its first one is the unit as found, unless the match began elsewhere or no reading told how it stood.
func (c *Core) keepReading(u *unit, raw *Reading, net *solve.Reading) {
	if p := c.paces[raw.Probe]; p != nil {
		if p.window, p.untold = 0, !raw.Told; raw.Told {
			p.window = raw.Integration
		}
	}
	c.learnAnswer(u, net)
	level := net.Y
	if u.early = c.unsettled(u, raw, net); u.early {
		level = math.NaN() // what is left of the light before shows in the level more than in the colour
	}
	m := c.measured(raw, *net)
	m.Early, m.Awaited = u.early, u.awaited
	s := Stand{UV: net.UV, Delta: m.Delta, SD: net.SigmaUV, Lux: m.Lux}
	kind := KindReading
	first := u.tally.kept == 0
	if u.found == nil && u.unread == nil && !u.untold {
		u.found, kind = &s, KindFound
	}
	u.tally.readings++
	u.tally.kept++
	c.repeated(u, net.UV, level, net.SigmaUV)
	u.former = former{u.tally.last, u.own}
	u.tally.last, u.lnSD, u.unreadAhead, u.unseen = &s, net.SigmaLnY, false, nil
	u.own = colorcalc.XYZ{}
	if net.HasY && net.Y > 0 {
		if kind != KindFound || u.Found == nil { // as found it is not where the survey lit it
			c.throwsMore(u, net.Y)
		}
		u.own = net.UV.XYZ(net.Y)
	}
	c.enter(Entry{Kind: kind, Fixture: u.Info.Name, Reading: &m})
	if first {
		c.slowBeside(u, m.Lux)
	}
}

// setAside enters a reading that is not used, and why.
func (c *Core) setAside(u *unit, raw *Reading, why string) {
	u.tally.readings++
	m := c.measured(raw, solve.Reading{UV: raw.UV, Y: raw.Y})
	c.enter(Entry{Kind: KindAside, Fixture: u.Info.Name, Reading: &m, Note: "set aside: " + why})
}

// former is what was known of a unit's light before a reading.
type former struct {
	last *Stand
	own  colorcalc.XYZ
}

// account enters what a match has made of the last reading. One that is implausible, as of somebody in the beam, does not say how bright the unit is, nor
// where it stands; the first of all is all that is known.
func (c *Core) account(u *unit, a solve.Account) {
	c.foretold(u, &a)
	if a.Verdict == solve.Outlier && u.former.last != nil {
		u.tally.last, u.own = u.former.last, u.former.own
	}
	c.enter(Entry{Kind: KindAccount, Fixture: u.Info.Name, Account: &Account{
		Verdict: a.Verdict.String(), Innovation: math.Hypot(a.Innovation.U, a.Innovation.V), Words: a.Words}})
}

// measured is a reading as the journal keeps it.
func (c *Core) measured(raw *Reading, net solve.Reading) Measured {
	m := Measured{UV: net.UV, RawUV: raw.UV, Lux: net.Y, RawLux: raw.Y, Probe: raw.Probe, MeterSeq: raw.Seq,
		IntegrationS: raw.Integration.Seconds(), SigmaUV: net.SigmaUV}
	if c.ref != nil {
		m.Delta = net.UV.Dist(c.ref.UV)
	}
	return m
}

// finishUnit keeps what was learnt of a unit, records how it ended, and gives that.
func (c *Core) finishUnit(u *unit, m *solve.Match, d solve.Decision, kind Kind) solve.Decision {
	if why := c.blinking(u); why != "" && believed(d.Outcome) {
		d.Outcome, d.Reason = solve.Unsettled, why
	}
	c.blamesLight(u, &d)
	c.ofTheDark(u, &d)
	if believed(d.Outcome) {
		u.settled(c.background[u.Info.Probe])
	}
	p := m.Posterior()
	u.prior, u.past = &p, m.Past()
	c.learnRepeats(u)
	u.final = u.leftAt(d)
	u.unreadAhead = d.Outcome == solve.Predicted
	c.computeFound(u, m, d.Outcome)
	u.outcome = c.outcomeOf(u, d)
	u.outcome.Likeness = c.alikeNow(m)
	c.claimed(u, u.outcome)
	c.wereInVain(u, d.Outcome)
	c.enter(Entry{Kind: kind, Fixture: u.Info.Name, Outcome: u.outcome})
	return d
}

// forget has a unit begin anew: what was read of it holds no more.
func (u *unit) forget() { u.prior, u.past = nil, nil }

// leftAt is the setting that a visit leaves a unit at: where it stands, or where its next visit lights it. That of a visit which
// found no light to light it with, or was not let, is that of the visit before.
func (u *unit) leftAt(d solve.Decision) solve.Drive {
	switch {
	case u.ahead != nil && d.Outcome == solve.Predicted:
		return slices.Clone(u.ahead)
	case u.final != nil && len(u.Dark) > 0 && (u.unreadAhead || slices.Equal(u.Darkened(u.at.Sent), u.at.Sent)):
		return slices.Clone(u.final)
	}
	return slices.Clone(u.at.Sent)
}

// outcomeOf puts a decision and what the unit cost into words and figures. Without
// a reading there are no figures.
func (c *Core) outcomeOf(u *unit, d solve.Decision) *Outcome {
	o := &Outcome{Result: d.Outcome, Reason: strings.TrimPrefix(d.Reason, d.Outcome.String()+": "),
		Readings: u.tally.readings, Steps: u.tally.steps, Found: u.asFound(d.Outcome), Before: u.before}
	if !math.IsNaN(d.P) {
		o.Probability = d.P
	}
	o.Reason += c.restlessWords(u)
	if u.tally.visited {
		o.Seconds = (c.now - u.tally.began).Seconds()
	}
	if last := u.tally.last; last != nil && !u.unreadAhead { // where that stands nobody has read yet
		f := *last
		if d.Nearest != (colorcalc.UV{}) {
			f.UV, f.SD = d.Nearest, d.PredictedSD
		}
		if c.ref != nil {
			f.Delta = f.UV.Dist(c.ref.UV)
			o.Words = colorcalc.Describe(c.ref.UV.XY(), f.UV.XY())
		}
		o.Final = &f
	}
	if left := u.leftAt(d); left != nil {
		o.After = &Step{Codes: left}
		if d.Outcome == solve.Predicted {
			o.After.Predicted, o.After.PredictedSD = d.Predicted, d.PredictedSD
		}
	}
	if d.Outcome == solve.OutOfReach && o.Final != nil {
		o.Advice = advice(c.ref.UV, o.Final.UV, c.cfg.Plan.Tolerance)
	}
	return o
}

// advice says what would help a unit that cannot reach the target: what a
// filter in front of it must do, or that the others come to it; nothing where that shift is no more than the tolerance.
func advice(target, stands colorcalc.UV, tolerance float64) string {
	if target.Dist(stands) <= tolerance {
		return ""
	}
	tk, td, err1 := colorcalc.CCT(target.XY())
	sk, sd, err2 := colorcalc.CCT(stands.XY())
	if err1 != nil || err2 != nil {
		return "no white: a filter cannot be named from chromaticity; take the nearest point as the target for all"
	}
	return fmt.Sprintf("a filter that shifts by %+.0f mired and %s Duv would help (predicted from chromaticity), or match the others to this fixture",
		math.Round(float64(tk.Mired()-sk.Mired()))+0, (td - sd).Text())
}
