package core

import (
	"fmt"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/loop/solve"
)

// Config is all that a core begins from. It is plain data: the journal keeps
// it, so that a run can be played again without the files it came from.
type Config struct {
	Work  Work   `json:"work"`
	Plan  Plan   `json:"plan"`
	Units []Unit `json:"units"`
	// Batches is what the units of each type are known to share, by Unit.Type; it
	// is added to as units land.
	Batches map[string]*solve.Batch `json:"batches,omitempty"`
	// DeadTimes are known from earlier runs, by Unit.SettleKey.
	DeadTimes map[string]time.Duration `json:"dead_times_ns,omitempty"`
	// Steadiness is what earlier runs have found by Plan.Watch, by Unit.Type.
	Steadiness map[string]Steadiness `json:"steadiness,omitempty"`
	// Previous is what Verify checks: how an earlier run left each fixture.
	Previous []Standing `json:"previous,omitempty"`
	Probe    *ProbePlan `json:"probe,omitempty"` // of Work Probe
	// Spectra are those of the emitters as the profiles have them, by Unit.Type, in the order of
	// the spec; null: not known.
	Spectra map[string][]*spectrum.Kept `json:"spectra,omitempty"`
	// Modes are what the profiles say of the other modes that fixtures may be set to, by Unit.Type.
	Modes map[string][]solve.Spec `json:"other_modes,omitempty"`
	// Priors is what an earlier run learnt of each fixture, by name. Keep and Palette use it.
	Priors map[string]*solve.Prior `json:"priors,omitempty"`
	// Background is what the match took off the readings, by probe, lux. Only Keep uses it, where it reads none itself.
	Background map[string]colorcalc.XYZ `json:"background,omitempty"`
	// Beforehand are readings of the reference that were made before the run began, while nothing was driven yet; their times are below 0.
	Beforehand []Reading `json:"beforehand,omitempty"`
	// StartShown is how long the levels of the start (Unit.Rest) had been sent when the run began. 0: it is not known, or nothing was sent.
	StartShown time.Duration `json:"start_shown_ns,omitempty"`
	Points     *PointPlan    `json:"points,omitempty"` // where the work is Points
	Wished     []Wished      `json:"wished,omitempty"` // where the work is Palette
}

// Work is the kind of a run.
type Work string

// The kinds of run.
const (
	Survey Work = "survey"  // read every fixture as found
	Match  Work = "match"   // bring every fixture to the reference
	Verify Work = "verify"  // read a matched rig again
	ByHand Work = "by hand" // match lamps that a person sets
	Probe  Work = "probe"   // light the emitters of one fixture one by one, to describe it
	// Rehearse walks through the first setting of every fixture. Nothing is read.
	Rehearse Work = "rehearse"
)

// ProbePlan is what Probe does with one fixture.
type ProbePlan struct {
	Fixture  string        `json:"fixture"`
	Base     solve.Drive   `json:"base"`     // with every emitter dark
	Levels   []solve.Drive `json:"levels"`   // each is read, in this order
	Readings int           `json:"readings"` // of the base and of each level
}

// Standing is how an earlier run left a fixture.
type Standing struct {
	Fixture string        `json:"fixture"`
	Result  solve.Outcome `json:"result"`
	Codes   solve.Drive   `json:"codes"`
	UV      colorcalc.UV  `json:"uv"`              // where it stood
	SD      float64       `json:"sd_uv,omitempty"` // of UV, per axis; 0 = not known
	Lux     float64       `json:"lux,omitempty"`   // at its probe; 0 = not known
	// Reference says that all others were matched to it: it is lit as it was, and not trimmed.
	Reference bool `json:"reference,omitempty"`
}

// Plan is what a run is asked to do.
type Plan struct {
	Target    Target  `json:"target"`
	Tolerance float64 `json:"tolerance_uv"` // radius in CIE 1976 u'v'
	// SecondVisit reads every fixture again at the end, and trims it if it drifted.
	SecondVisit bool `json:"second_visit"`
	// AsFound reads every fixture once as its profile sets it, also where earlier units have
	// taught a better place to begin. Otherwise how those stood is computed when they have landed.
	// What the desk has lit is always read as it stands.
	AsFound bool `json:"as_found"`
	// KeepLit puts no lamp out to measure another: people are aloft. Then there
	// is no background to take off either, and each probe must see its own lamp.
	KeepLit bool `json:"keep_lit"`
	// Common asks for one level of all units at the probe, Lux says which where
	// it is a figure. The level is set together with the colour on the second visit.
	Common CommonLevel `json:"common,omitempty"`
	Lux    float64     `json:"lux,omitempty"`
	// Spend is what the freedom of four or more emitters is spent on.
	Spend Spend `json:"spend,omitzero"`
	// WarmUp lights all units for so long before the first is matched.
	WarmUp time.Duration `json:"warm_up_ns,omitempty"`
	// Watch is how long after they were lit the first units of each type are read again on the second visit, to
	// see whether they change their colour by themselves. 0: no lamp is expected to, but for WatchShare.
	Watch time.Duration `json:"watch_ns,omitempty"`
	// WatchShare is the part of a run that it may cost to watch the first units of each type for UsualWatch without being asked to,
	// 0 to 1: one unit of each, or up to three where that costs no more. Otherwise none is watched, and the end of the run names the types.
	WatchShare float64 `json:"watch_share,omitempty"`
	// Preset sets dark lamps to the colour they are first lit at before they are lit.
	Preset bool `json:"preset,omitempty"`
	// ReferenceReadings is how often the reference is read; eight or more make
	// the meter's scatter known as well.
	ReferenceReadings int `json:"reference_readings"`
	// Lanes is how many lamps may be worked at side by side, each at a probe of its own, where
	// none disturbs the reading of another; 0 and 1: one after another.
	Lanes int `json:"lanes,omitempty"`
	// HandMeter says that a person reads the meter: background and reference are read at the
	// start, between the rounds, and before a visit where that spares answers, never in the middle of one.
	HandMeter bool `json:"hand_meter,omitempty"`
	// ReadTimeout is how long the shell waits for one reading before it gives up.
	ReadTimeout time.Duration `json:"read_timeout_ns"`
	// SilenceLimit is for how long a meter may be silent before the run ends; meanwhile the
	// lamps stay as they are. 0: the first reading that does not come ends the run.
	SilenceLimit time.Duration `json:"silence_limit_ns,omitempty"`
}

// CommonLevel is a wish for one level of all lamps.
type CommonLevel string

// The wishes. NoCommon leaves each lamp at its own level.
const (
	NoCommon        CommonLevel = ""
	CommonEqual     CommonLevel = "equal"     // as the weakest gives at its level
	CommonBrightest CommonLevel = "brightest" // the most that all can give within their caps
	CommonLux       CommonLevel = "lux"       // a level in lux
)

// DefaultPlan returns a fresh plan with the usual numbers.
func DefaultPlan() Plan {
	return Plan{Tolerance: 0.0010, SecondVisit: true, Preset: true, WatchShare: 1.0 / 12, ReferenceReadings: 10, ReadTimeout: 10 * time.Second}
}

// Target is what is matched to: a named fixture, or a colour.
type Target struct {
	Reference string       `json:"reference,omitempty"` // name of the unit that is the reference; "" for a colour
	Text      string       `json:"text,omitempty"`      // as the person wrote it
	UV        colorcalc.UV `json:"uv"`                  // of the colour; not used with a reference
	// Freeze matches to the reference as it was read first, and tells how far it went
	// since. Otherwise lamps are matched to where it is now.
	Freeze bool `json:"freeze,omitempty"`
}

// Unit is one head of one fixture, compiled from its profile.
type Unit struct {
	Info FixtureInfo `json:"info"`
	Head int         `json:"head"` // as the wire counts heads; negative: cannot be sent to
	Spec solve.Spec  `json:"spec"`
	// Level is the fraction of the most light at which the unit is matched.
	Level float64 `json:"level"`
	// Headroom is how much more light the unit's cap allows than its level, as a
	// factor of at least 1.
	Headroom float64 `json:"headroom"`
	// Dark are the codes that take the unit's light away and leave its colour:
	// of the dimmer, else of every emitter. Empty: it cannot be darkened.
	Dark []AxisCode `json:"dark,omitempty"`
	// Rest is where the unit stands before it is lit for the first time.
	Rest solve.Drive `json:"rest,omitempty"`
	// Lit is how the unit stands when it is the reference itself.
	Lit solve.Drive `json:"lit,omitempty"`
	// Found is how the desk has the unit, where one has it lit; nil otherwise.
	Found solve.Drive `json:"found,omitempty"`
	// Settle is from arrival on the wire to steady light; SettleKnown tells
	// whether the profile says so, or it is a guess to be measured.
	Settle      time.Duration `json:"settle_ns"`
	SettleKnown bool          `json:"settle_known,omitempty"`
	// Type is the same for units of one profile and mode: what is learnt of one
	// holds for the next. Empty: nothing is shared.
	Type string `json:"type,omitempty"`
	// Universe carries the unit's slots (Spec.Address), 0 = not known, and Still is what stands in those of its fixture that no unit moves.
	Universe int    `json:"universe,omitempty"`
	Still    []byte `json:"still,omitempty"`
	// Feed names what reads the unit's probe: a dead time is one of fixture type and feed together, and the scatter of readings one of the feed.
	Feed string `json:"feed,omitempty"`
}

// AxisCode is a code of one parameter, by its place in a drive.
type AxisCode struct {
	Axis int    `json:"axis"`
	Code uint32 `json:"code"`
}

// SettleKey names what units have in common for the dead time: their type and
// the feed that reads them. Empty: nothing is shared.
func (u *Unit) SettleKey() string {
	if u.Type == "" {
		return ""
	}
	return u.Type + "@" + u.Feed
}

// Darkened is a drive with the light taken away.
func (u *Unit) Darkened(now solve.Drive) solve.Drive {
	out := slices.Clone(now)
	for _, a := range u.Dark {
		out[a.Axis] = a.Code
	}
	return out
}

func (u *Unit) check() error {
	if u.Head < 0 {
		return nil
	}
	n := len(u.Spec.Channels)
	if len(u.Rest) != n || u.Lit != nil && len(u.Lit) != n || u.Found != nil && len(u.Found) != n {
		return fmt.Errorf("%s: a look has not one code for each of %d parameters", u.Info.Name, n)
	}
	for _, a := range u.Dark {
		if a.Axis < 0 || a.Axis >= n {
			return fmt.Errorf("%s: goes dark by parameter %d of %d", u.Info.Name, a.Axis+1, n)
		}
	}
	return nil
}

func (c *Config) check() error {
	p := &c.Plan
	if !(p.Tolerance > 0) || p.ReferenceReadings < 1 || p.ReadTimeout <= 0 {
		return fmt.Errorf("tolerance, readings of the reference and time-out must be positive, have %g, %d, %v", p.Tolerance, p.ReferenceReadings, p.ReadTimeout)
	}
	if !(p.WatchShare >= 0 && p.WatchShare <= 1) {
		return fmt.Errorf("watching lamps may cost %g of a run: want 0 to 1", p.WatchShare)
	}
	heads := map[int]string{}
	reference := p.Target.Reference == ""
	for i := range c.Units {
		u := &c.Units[i]
		if err := u.check(); err != nil {
			return err
		}
		if other, twice := heads[u.Head]; twice && u.Head >= 0 {
			return fmt.Errorf("%s and %s are both head %d", other, u.Info.Name, u.Head)
		}
		heads[u.Head] = u.Info.Name
		reference = reference || u.Info.Name == p.Target.Reference
	}
	if !reference {
		return fmt.Errorf("the reference %q is no fixture of the rig", p.Target.Reference)
	}
	if err := c.checkAloft(); err != nil {
		return err
	}
	if err := c.checkTimes(); err != nil {
		return err
	}
	switch c.Work {
	case Survey, Match, Verify, ByHand, Recall, Keep:
		return nil
	case Rehearse:
		if c.Plan.Target.Reference != "" {
			return fmt.Errorf("a rehearsal measures no reference: it needs a colour")
		}
		return nil
	case Points:
		return c.checkPoints()
	case Palette:
		return c.checkPalette()
	case Probe:
		return c.checkProbe()
	}
	return fmt.Errorf("%q is no kind of run", string(c.Work))
}

func (c *Config) checkProbe() error {
	if c.Probe == nil || c.Probe.Readings < 1 || len(c.Probe.Levels) == 0 {
		return fmt.Errorf("nothing is said of what to probe")
	}
	for i := range c.Units {
		u := &c.Units[i]
		if u.Info.Name != c.Probe.Fixture || u.Head < 0 {
			continue
		}
		for _, d := range append([]solve.Drive{c.Probe.Base}, c.Probe.Levels...) {
			if len(d) != len(u.Spec.Channels) {
				return fmt.Errorf("%s: a level to probe has not one code for each of %d parameters", u.Info.Name, len(u.Spec.Channels))
			}
		}
		return nil
	}
	return fmt.Errorf("%q is no fixture that is driven", c.Probe.Fixture)
}
