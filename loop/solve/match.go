package solve

import (
	"math/rand/v2"
	"slices"
	"time"

	"trueup/loop/solve/estimate"
	"trueup/loop/solve/model"
	"trueup/loop/solve/plan"
)

// Match is one head on its way to one target. It is not safe for concurrent use.
type Match struct {
	spec   Spec
	target Target
	opt    Options

	model    model.Model
	sum      *estimate.Sum
	planner  plan.Planner
	edge     edge
	work     *estimate.Workspace // of all its sums
	lastPlan plan.Plan
	cut      float64 // ln of the least level of a step that the head's limits cut,
	isCut    bool    // if there was one

	levelSteps int // made for the level alone

	stand     stand
	log       readings
	clock     clock
	search    search
	fault     fault
	rng       *rand.Rand
	stories   stories
	as        *rival  // the story believed in the place of the profile's; nil: the profile's
	rig       *Spec   // of a story's match by which the lamp takes other slots: the spec by whose slots codes are sent; nil: that is spec
	said      bool    // it is named
	inherited bool    // an earlier visit believed it
	since     int     // readings before it was believed
	odds      float64 // ln of the evidence over the best of the others, when stories last competed
	suspect   *Match  // tells the story that this one may yet give way to; nil: none
	parted    bool    // the lamp was looked at where the two part, when it was about to land
	looked    bool    // it was so on its way,
	looking   bool    // and is there
	left      Drive   // where it looked landed, while it is looked at elsewhere
	prior     *Prior  // of units of the type, that the match began from; nil: none
	own       *Prior  // that it began from, of whatever kind; nil: none
	recalled  int     // readings of its log that earlier visits took: of a story's match alone
	unrest    unrest
	seen      seen
	text      sentence
	retried   bool        // the setting that an earlier visit had landed at
	first     Drive       // the first setting, where it is not planned; nil: it is
	before    model.State // the leading law and mean before the last reading
}

// stand is where the head stands.
type stand struct {
	d        []float64 // as fractions of full scale, one per channel; nil = not known yet
	codes    Drive     // the same as codes
	pending  Drive     // sent there, not yet read there, while under way
	underWay bool
}

// clock is the match's own time.
type clock struct {
	begun bool
	last  time.Duration // of the last reading
}

// New starts a match. prior may be nil (a fresh unit). Errors name the field of
// spec, target or prior that can not be used.
func New(spec Spec, target Target, prior *Prior, opt Options) (*Match, error) {
	if err := spec.Check(); err != nil {
		return nil, err
	}
	if err := target.fill(); err != nil {
		return nil, err
	}
	opt, err := opt.filled()
	if err != nil {
		return nil, err
	}
	m := &Match{spec: spec, target: target, opt: opt, rng: rand.New(rand.NewPCG(opt.Seed, 0x7275657570)), work: estimate.NewWorkspace()}
	m.build()
	m.sum = estimate.NewSum(m.model, m.work)
	m.log.taken = make([]taken, 0, usualReadings)
	m.text.text = make([]byte, 0, usualSentence)
	m.before.X = make([]float64, 0, m.model.Dim().N)
	if prior != nil {
		if err := m.adopt(prior); err != nil {
			return nil, err
		}
	}
	if target.Y > 0 {
		m.openDimmer()
	}
	return m, nil
}

// build makes what differs between the kinds of mode: the only place that tells
// them apart.
func (m *Match) build() {
	s := m.head()
	if s.Kind == Emitters {
		mix := model.NewMixture(s)
		m.model, m.planner, m.edge = mix, plan.NewMixture(mix, s, m.opt.Wish, m.opt.Level, m.opt.Likeness), regret{}
		return
	}
	e := model.NewEngine(s)
	p := plan.NewEngine(e, s)
	m.model, m.planner, m.edge = e, p, &seek{engine: e, planner: p}
}

// adopt starts from a kept posterior.
func (m *Match) adopt(p *Prior) error {
	if p.As != "" {
		if err := m.believe(p.As, !p.Doubted); err != nil {
			return err
		}
	}
	if err := m.sum.Adopt(p, m.spec.Kind); err != nil {
		return err
	}
	if p.Batch {
		m.prior = p
	}
	m.own = p
	if len(p.Drive) == len(m.spec.Channels) {
		// Only to know how far the first move goes; a landing needs a reading there.
		from := m.fractions(p.Drive)
		pl := m.planFrom(from)
		for _, h := range m.sum.Components {
			m.model.Move(&h.State, from, pl.D)
		}
		m.planner.Release() // the mixture is chosen when the match begins
	}
	return nil
}

// openDimmer leaves the curve of a dimmer that no profile states to the readings: a level is asked for, and only a second one tells how to come to it.
func (m *Match) openDimmer() {
	var from []float64
	if m.own != nil && len(m.own.Drive) == len(m.spec.Channels) {
		from = m.fractions(m.own.Drive)
	}
	m.sum.OpenDimmer(from)
}

// Common sets the standard deviation, for each axis of u'v', of all that the readings have in
// common: the error of the target itself and of what was taken off every reading.
// It does not average away, so the stop counts it whole.
func (m *Match) Common(sigmaUV float64) {
	if sigmaUV >= 0 && sigmaUV < mostTol {
		m.target.SigmaUV = sigmaUV
	}
}

// Posterior is what is known of the head now. It shares nothing with the match.
func (m *Match) Posterior() Prior {
	p := m.sum.Posterior(m.spec.Kind)
	p.Drive = slices.Clone(m.stand.codes)
	if m.as != nil {
		p.As, p.Doubted = m.as.name, !m.said
	}
	return p
}

// fractions are codes as parts of their scales.
func (m *Match) fractions(d Drive) []float64 {
	f := make([]float64, len(d))
	for i, c := range d {
		f[i] = m.spec.Drive(i, c)
	}
	return f
}

// allowed reports whether a drive may be sent: what was read once may be out of
// bounds since.
func (m *Match) allowed(d Drive) bool {
	for i, c := range m.spec.Channels {
		if d[i] < c.Lo || d[i] > c.Hi {
			return false
		}
	}
	return true
}

// start is the drive that a match without any begins from.
func (m *Match) start() []float64 {
	if m.spec.Start != nil {
		return m.fractions(m.spec.Start)
	}
	d := make([]float64, len(m.spec.Channels))
	for i, c := range m.spec.Channels {
		d[i] = m.spec.Scale(i).FractionAt((float64(c.Lo) + float64(c.Hi)) / 2)
	}
	if m.spec.Dimmer != nil {
		i := m.spec.Dimmer.Channel
		d[i] = m.spec.Drive(i, m.spec.Channels[i].Hi)
	}
	return d
}
