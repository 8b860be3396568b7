package session

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"path/filepath"
	"slices"
	"time"

	"github.com/rs/zerolog"

	"trueup/colorcalc"
	"trueup/colorcalc/expr"
	"trueup/colorcalc/spectrum"
	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/loop/feed"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/profiles/userfile"
)

// Job is what a run is asked to do, and with what. It is read once.
type Job struct {
	Program  string // name and version, for the journal
	Rig      *rig.Rig
	Compiled *Compiled
	Work     core.Work
	Plan     core.Plan
	// Previous is what Verify checks; Probe what Probe does.
	Previous *Summary
	Probe    *core.ProbePlan
	// Priors is what an earlier run learnt of each fixture, by name; used by Keep and Palette. Background is what it took
	// off the readings, by probe; used by Keep alone.
	Priors     map[string]*solve.Prior
	Background map[string]colorcalc.XYZ
	// Points is what Points reads.
	Points *core.PointPlan
	// Wished is what Palette reads.
	Wished []core.Wished
	// Learnt is what earlier runs learnt of the types of the units, by Unit.Type; nil:
	// every unit starts from its profile alone. It is added to as units land.
	Learnt map[string]*solve.Batch
	// Times is what earlier runs found of what the lamps of the types do in time.
	Times core.TypeTimes

	// Silent makes frames and sends none; Preview sends them marked as such (E1.31
	// 6.2.6), so that nothing on stage moves.
	Silent, Preview bool
	OutRoot         string // folder of all runs; "" keeps no files
	CID             sacn.CID
	Feeds           feed.Config // what all feeds have in common
	Log             zerolog.Logger

	// Dial tells a person what to set on a lamp and returns when they have, or with
	// feed.ErrUndo. Used by ByHand alone.
	Dial func(context.Context, HandStep) error
	// Listen hears every entry after it is on disk; may be nil. It must not block.
	Listen func(Entry)
	// Say hears what a person should know and no journal needs; may be nil.
	Say func(text string)
	// WriteUp makes report and sheet from the journal, before the lamps are handed back and
	// again after; may be nil.
	WriteUp func(dir string, s *Summary) error
}

// silenceLimit is how long a silent meter is waited for: a battery can be changed and a
// cable found in that time.
const silenceLimit = 30 * time.Minute

// PlanFor turns a rig's target into a run's.
func PlanFor(r *rig.Rig) (core.Plan, error) {
	p := core.DefaultPlan()
	p.Tolerance = r.Tolerance
	p.Common, p.Lux = r.Target.Common, r.Target.Lux
	p.Spend = r.Target.Spend
	p.Lanes = r.Lanes
	p.KeepLit = r.Safety.Limits.PeopleAloft
	p.SilenceLimit = silenceLimit
	p.Target = core.Target{Reference: r.Target.Reference, Text: r.Target.Color, Freeze: r.Target.Freeze}
	if r.Target.Reference == "" {
		c, err := expr.Parse(r.Target.Color)
		if err != nil {
			return p, fmt.Errorf("%s:%d:%d: target color: %w", r.Path, r.Target.Pos.Line, r.Target.Pos.Col, err)
		}
		p.Target.UV = c.XY.UV()
		if p.Target.UV == (colorcalc.UV{}) {
			return p, fmt.Errorf("%s:%d:%d: target color %q is no colour of light", r.Path, r.Target.Pos.Line, r.Target.Pos.Col, r.Target.Color)
		}
	}
	return p, nil
}

// ReadByHand reports whether a person reads a meter of the rig.
func ReadByHand(r *rig.Rig) bool {
	return slices.ContainsFunc(r.Feeds, func(f rig.Feed) bool { return f.Kind == "hand" })
}

// Patient is a plan for a person who reads the meter: they may go for lunch, and
// two readings of the reference are enough to notice a slip; more are asked for where the tolerance and the lamps take them.
func Patient(p core.Plan) core.Plan {
	p.ReadTimeout, p.ReferenceReadings, p.HandMeter = 24*time.Hour, 2, true
	return p
}

// TargetText is the rig's target in words.
func TargetText(r *rig.Rig) string {
	if r.Target.Reference != "" {
		return lightWords(r.Target.Reference, r.Target.Freeze)
	}
	return r.Target.Color
}

func lightWords(reference string, frozen bool) string {
	text := "the light of " + reference
	if frozen {
		text += ", frozen as it is read first"
	}
	return text
}

// TargetText is the target of the run in words: the rig's, or the colour that was chosen instead.
func (j *Job) TargetText() string {
	switch t := &j.Plan.Target; {
	case t.Reference != "":
		return lightWords(t.Reference, t.Freeze)
	case t.Text != "":
		return t.Text
	}
	return TargetText(j.Rig)
}

// Config is what the core begins from.
func (j *Job) Config() core.Config {
	c := core.Config{Work: j.Work, Plan: j.Plan, Batches: j.Learnt, Probe: j.Probe, Priors: j.Priors, Background: j.Background, Points: j.Points, Wished: j.Wished,
		DeadTimes: j.Times.DeadTimes, Steadiness: j.Times.Steadiness}
	if j.Work != core.ByHand && !j.Silent {
		c.StartShown = takeoverPause
	}
	c.Modes = j.Compiled.Modes
	for _, u := range j.Compiled.Units {
		c.Units = append(c.Units, u.Unit)
		if j.Plan.Spend.Wish.BySpectra() && u.Type != "" && u.Spectra != nil {
			if c.Spectra == nil {
				c.Spectra = map[string][]*spectrum.Kept{}
			}
			c.Spectra[u.Type] = u.Spectra
		}
	}
	if j.Previous != nil {
		for _, f := range j.Previous.Fixtures {
			if o := f.Final(); !j.darkAtDesk(f.Name) && o != nil && o.After != nil && o.Final != nil {
				c.Previous = append(c.Previous, core.Standing{Fixture: f.Name, Result: o.Result, Codes: o.After.Codes, UV: o.Final.UV, SD: o.Final.SD, Lux: o.Final.Lux,
					Reference: j.Previous.IsReference(f) && f.Lit != nil})
			}
		}
	}
	return c
}

// darkAtDesk tells whether a look is kept beside a desk that has a fixture dark: then it is not lit.
func (j *Job) darkAtDesk(name string) bool {
	if j.Work != core.Keep || j.Rig.Output.Mode != rig.Overlay {
		return false
	}
	i := slices.IndexFunc(j.Compiled.Units, func(u *Unit) bool { return u.Info.Name == name })
	return i >= 0 && j.Compiled.Units[i].Found == nil
}

// info opens the journal.
func (j *Job) info(c *core.Config, priority uint8) (*RunInfo, error) {
	text, err := userfile.Read(j.Rig.Path, userfile.Rig)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(text)
	i := &RunInfo{Version: core.JournalVersion, Program: j.Program, Rig: j.Rig.Name, RigFile: filepath.Base(j.Rig.Path), RigSHA256: hex.EncodeToString(sum[:]),
		Work: string(j.Work), Mode: string(j.Rig.Output.Mode), Priority: priority, Target: j.TargetText(), Tolerance: j.Plan.Tolerance,
		Rehearsal: j.Preview, Level: j.Rig.Target.Level, Limits: j.Rig.Safety.Describe(), Rates: j.Rates(), Corrected: CorrectionWords(j.Feeds.Corrections), Unaligned: j.Unaligned(),
		Gels: core.KeepGels(j.Rig.Gels), Core: c}
	if j.Work == core.ByHand {
		i.Work, i.Mode = string(core.Match), string(core.ByHand)
	}
	for _, u := range j.universes() {
		i.Universes = append(i.Universes, uint16(u))
	}
	for _, u := range j.Compiled.Units {
		f := u.Info
		if u.Head >= 0 && u.Lit != nil && f.Name == j.Plan.Target.Reference && j.Work != core.ByHand {
			f.Lit = &Step{Action: "the reference", Codes: slices.Clone(u.Lit)}
			u.Dress(f.Lit)
		}
		i.Fixtures = append(i.Fixtures, f)
	}
	return i, nil
}

// Rates are the rig's limits on speed, in force.
func (j *Job) Rates() *core.Rates {
	l := j.Rig.Safety.Limits
	if l.PeopleAloft {
		l = l.Aloft()
	}
	return &core.Rates{Rise: l.Rise, Fall: l.Fall, Colour: l.Colour}
}

func (j *Job) universes() []dmx.Universe {
	var us []dmx.Universe
	for _, h := range j.Compiled.Heads {
		if !slices.Contains(us, h.Universe) {
			us = append(us, h.Universe)
		}
	}
	slices.Sort(us)
	return us
}

func (j *Job) say(format string, args ...any) {
	if j.Say != nil {
		j.Say(fmt.Sprintf(format, args...))
	}
}
