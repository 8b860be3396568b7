package solve

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"trueup/colorcalc"
)

// solver turns a state into a drive.
type solver interface {
	// solve plans for chromaticity t from the present drive; fresh drops what was
	// chosen before. reachable is false when only the nearest point is left.
	solve(law int, x, now []float64, t colorcalc.UV, tol float64, fresh bool) (p plan, reachable bool)
}

// Match is one head on its way to one target. It is not safe for concurrent use.
type Match struct {
	spec   Spec
	target Target
	opt    Options

	m    model
	f    *filter
	plan solver
	hyps []*hyp // normalised weights, heaviest first

	now      []float64 // where the head stands, as fractions; nil = not known yet
	drive    Drive     // the same as codes
	pending  Drive     // sent there, not yet read there
	last     time.Duration
	begun    bool
	readings int // all that were observed
	taken    []taken
	stale    *Reading

	scaled    bool    // the level scale is known
	visits    int     // to the best codes of a doubting draw
	missed    bool    // the last move did not end as the law has it
	wentFar   bool    // looked in the middle of the range whether the lamp answers at all
	setbacks  int     // moves half the way back
	jumped    bool    // went back to the nearest drive of a lamp that jumps
	idle      int     // readings at the nearest point that did not settle it
	back      bool    // went back to the best reading once
	asks      int     // decisions since the last usable reading
	first     *hyp    // the profile's own hypothesis, untouched
	evidence  float64 // ln of the evidence of all readings, all hypotheses together
	worstMaha float64
	misfits   int // readings after moves that did not fit at all
	cause     Cause
	causeWhy  string
	rng       *rand.Rand
	pool      []*hyp
	lastPlan  plan
}

// taken is a reading kept for second thoughts.
type taken struct {
	r       Reading
	d       []float64
	verdict Verdict
	moved   bool // first at its drive
}

// defaultTol is one step of about 0.0011 (CIE TN 001), rounded down.
const defaultTol = 0.0010

// New starts a match. prior may be nil (a fresh unit). Errors name the field of
// spec, target or prior that can not be used.
func New(spec Spec, target Target, prior *Prior, opt Options) (*Match, error) {
	if err := spec.Check(); err != nil {
		return nil, err
	}
	if target.Tol == 0 {
		target.Tol = defaultTol
	}
	if target.TolY == 0 {
		target.TolY = 0.02
	}
	if err := target.check(); err != nil {
		return nil, err
	}
	opt, err := opt.filled()
	if err != nil {
		return nil, err
	}
	m := &Match{spec: spec, target: target, opt: opt, rng: rand.New(rand.NewPCG(opt.Seed, 0x7275657570))}
	switch spec.Kind {
	case Emitters:
		em := newEmitterModel(&m.spec)
		es := newEmitterSolver(em, &m.spec, opt)
		m.m, m.plan, m.hyps = em, es, em.prior(&m.spec)
	default:
		pm := newPlaneModel(planeLawOf(&m.spec), &m.spec)
		m.m, m.plan, m.hyps = pm, &planeSolver{m: pm, s: &m.spec}, pm.prior()
	}
	m.f = newFilter(m.m)
	m.first = m.hyps[0].clone()
	if prior != nil {
		if err := m.adopt(prior); err != nil {
			return nil, err
		}
	}
	return m, nil
}

func planeLawOf(s *Spec) planeLaw {
	switch s.Kind {
	case XY:
		return newXYLaw(s)
	case HueSat:
		return newHueSatLaw(s)
	}
	return newCCTLaw(s)
}

// Check says what is wrong with a spec, or nil.
func (s *Spec) Check() error {
	n := len(s.Channels)
	if n == 0 {
		return errors.New("head has no channels to move")
	}
	for i, c := range s.Channels {
		if c.Max == 0 || c.Lo > c.Hi || c.Hi > c.Max {
			return fmt.Errorf("channel %d (%s): codes %d..%d of %d can not be driven", i+1, c.Name, c.Lo, c.Hi, c.Max)
		}
	}
	has := func(i int) bool { return i >= 0 && i < n }
	switch s.Kind {
	case Emitters:
		if len(s.Emitters) == 0 || len(s.Emitters) > maxEmitters || len(s.Emitters) > n {
			return fmt.Errorf("head has %d emitters on %d channels: want 1 to %d, each with its channel", len(s.Emitters), n, maxEmitters)
		}
		for i, e := range s.Emitters {
			if !(e.UV.U > 0 && e.UV.V > 0 && e.UV.U < 0.7 && e.UV.V < 0.65) || !(e.Flux >= 0 && e.Flux < 1e9) || !(e.SigmaUV >= 0 && e.SigmaUV < 1) || !(e.Droop >= 0 && e.Droop < 2) {
				return fmt.Errorf("emitter %d (%s): u'v' (%.4f, %.4f) with flux %g is no light", i+1, e.Name, e.UV.U, e.UV.V, e.Flux)
			}
		}
		if err := s.Curve.check(); err != nil {
			return err
		}
	case CCT:
		c := s.CCT
		if c == nil || !has(c.Channel) || c.Tint >= n {
			return errors.New("cct mode without its channels")
		}
		for _, k := range []colorcalc.Kelvin{c.AtZero, c.AtMax} {
			if !(k > 500 && k < 200000) {
				return fmt.Errorf("cct mode: %g K at the end of the scale must lie between 500 and 200000 K", float64(k))
			}
		}
		for i, st := range c.Steps {
			if st.Lo > st.Hi || i > 0 && st.Lo <= c.Steps[i-1].Hi || !(st.Kelvin > 500 && st.Kelvin < 200000) {
				return fmt.Errorf("cct mode: step %d (codes %d to %d, %g K) is out of order or no colour temperature", i+1, st.Lo, st.Hi, float64(st.Kelvin))
			}
		}
		if !(math.Abs(float64(c.TintAtZero)) < 0.2 && math.Abs(float64(c.TintAtMax)) < 0.2) {
			return fmt.Errorf("cct mode: tint from %g to %g is beyond any Duv", float64(c.TintAtZero), float64(c.TintAtMax))
		}
	case XY:
		if s.XY == nil || !has(s.XY.X) || !has(s.XY.Y) {
			return errors.New("xy mode without its channels")
		}
		v := s.XY.AtZero.X + s.XY.AtZero.Y + s.XY.AtMax.X + s.XY.AtMax.Y
		if math.IsNaN(v) || math.Abs(v) > 100 {
			return errors.New("xy mode: the ends of the scale are not chromaticities")
		}
	case HueSat:
		if s.HueSat == nil || !has(s.HueSat.Hue) || !has(s.HueSat.Sat) {
			return errors.New("hue and saturation mode without its channels")
		}
	default:
		return fmt.Errorf("kind %d of mode is not known", int(s.Kind))
	}
	if s.Dimmer != nil {
		if !has(s.Dimmer.Channel) {
			return errors.New("dimmer without its channel")
		}
		if err := s.Dimmer.Curve.check(); err != nil {
			return fmt.Errorf("dimmer: %w", err)
		}
	}
	if s.Start != nil && len(s.Start) != n {
		return fmt.Errorf("look as found has %d codes for %d channels", len(s.Start), n)
	}
	return nil
}

func (t Target) check() error {
	if !(t.UV.U > 0 && t.UV.V > 0 && t.UV.U < 0.7 && t.UV.V < 0.65) {
		return fmt.Errorf("target u'v' (%g, %g) is no chromaticity", t.UV.U, t.UV.V)
	}
	if !(t.Tol > 0 && t.Tol < 0.1) || !(t.SigmaUV >= 0 && t.SigmaUV < 0.1) {
		return fmt.Errorf("tolerance %g and uncertainty %g of the target must be positive and below 0.1", t.Tol, t.SigmaUV)
	}
	if !(t.Y >= 0) || math.IsInf(t.Y, 0) || !(t.TolY > 0 && t.TolY < 1) {
		return fmt.Errorf("level %g with tolerance %g can not be reached", t.Y, t.TolY)
	}
	return nil
}

// filled checks options; zero fields take the defaults.
func (o Options) filled() (Options, error) {
	d := DefaultOptions()
	for _, f := range []struct {
		v   *float64
		def float64
	}{{&o.Confidence, d.Confidence}, {&o.Level, d.Level}, {&o.SigmaUV, d.SigmaUV}, {&o.SigmaLnY, d.SigmaLnY}} {
		if *f.v == 0 {
			*f.v = f.def
		}
	}
	if o.Budget == 0 {
		o.Budget = d.Budget
	}
	if o.Sample == 0 {
		o.Sample = d.Sample
	}
	switch {
	case !(o.Confidence >= 0.5 && o.Confidence < 1):
		return o, fmt.Errorf("confidence %g must lie between 0.5 and 1", o.Confidence)
	case !(o.Level > 0 && o.Level <= 1):
		return o, fmt.Errorf("level %g must lie above 0 and up to 1", o.Level)
	case !(o.SigmaUV > 0 && o.SigmaUV < 0.1) || !(o.SigmaLnY > 0 && o.SigmaLnY < 2):
		return o, fmt.Errorf("meter noise %g, %g is not usable", o.SigmaUV, o.SigmaLnY)
	case o.Budget < 1 || o.Sample < 0 || o.Settle < 0:
		return o, errors.New("budget and times must be positive")
	}
	return o, nil
}
