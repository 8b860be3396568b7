package session

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/feed"
	"trueup/loop/solve"
)

// matchUnit brings one unit to the reference. That a unit does not land is an
// outcome, not an error.
func (s *Session) matchUnit(ctx context.Context, u *Unit) error {
	u.tally.began = time.Now()
	m, err := s.newMatch(u)
	if err != nil {
		return err
	}
	if u.Found == nil && s.plan.AsFound && u.prior == nil {
		if u.Found, err = s.nominal(u); err != nil {
			return err
		}
	}
	if u.Found != nil {
		if err := s.station(ctx, u, m, u.Found, "as found", 1); err != nil && !errors.Is(err, errNoLight) {
			return err
		}
	}
	if err := s.learnDeadTime(ctx, u); err != nil {
		return err
	}
	d, err := s.drive(ctx, u, m)
	if errors.Is(err, errNoLight) {
		d, err = solve.Decision{Outcome: solve.Held, Reason: err.Error()}, nil
	}
	if err != nil {
		return err
	}
	if err := s.finish(u, m, d, KindOutcome); err != nil {
		return err
	}
	if b := s.plan.Batches[u.Type]; b != nil && d.Outcome == solve.Landed {
		b.Learn(u.Spec, *u.prior)
	}
	return nil
}

func (s *Session) newMatch(u *Unit) (*solve.Match, error) {
	prior := u.prior
	if prior == nil && s.plan.Batches != nil && u.Type != "" {
		var err error
		if prior, err = s.batchPrior(u); err != nil {
			return nil, err
		}
	}
	return s.matchFrom(u, prior)
}

func (s *Session) matchFrom(u *Unit, prior *solve.Prior) (*solve.Match, error) {
	opt := solve.DefaultOptions()
	opt.SigmaUV, opt.SigmaLnY, opt.Level, opt.Settle = s.noise.sigmaUV(), s.noise.sigmaLnY(), u.Level, u.Settle
	m, err := solve.New(u.Spec, solve.Target{UV: s.ref.UV, SigmaUV: s.ref.SigmaUV, Tol: s.plan.Tolerance, Y: s.commonLux, TolY: commonTolerance}, prior, opt)
	if err != nil {
		return nil, fmt.Errorf("profile %s: %w", u.Info.Profile, err)
	}
	return m, nil
}

// nominal is where a unit stands when it is set as its profile says, if the
// match would not begin there anyway: units of the same type have taught
// better. Nil: the first step of the match is the nominal setting.
func (s *Session) nominal(u *Unit) (solve.Drive, error) {
	if b := s.plan.Batches[u.Type]; b == nil || b.Units == 0 {
		return nil, nil
	}
	m, err := s.matchFrom(u, nil)
	if err != nil {
		return nil, err
	}
	return m.Next(s.clock()).Drive, nil
}

// batchPrior is what the units of the type so far say of the next one. A batch
// that does not fit any more is begun anew.
func (s *Session) batchPrior(u *Unit) (*solve.Prior, error) {
	if b := s.plan.Batches[u.Type]; b != nil {
		if p, err := b.Prior(u.Spec); err == nil {
			return p, nil
		}
	}
	b, err := solve.NewBatch(u.Spec)
	if err != nil {
		return nil, fmt.Errorf("profile %s: %w", u.Info.Profile, err)
	}
	s.plan.Batches[u.Type] = b
	return b.Prior(u.Spec)
}

// drive runs the loop on a unit until its match is done.
func (s *Session) drive(ctx context.Context, u *Unit, m *solve.Match) (solve.Decision, error) {
	res, err := loop.Match(ctx, m, lamp{s, u}, probeSource{s, u.Info.Probe}, &recorder{s: s, u: u},
		loop.Arrival{At: u.at.when, Sent: u.at.drive},
		loop.Options{Settle: u.Settle, Start: s.start, Convert: func(r feed.Reading) (solve.Reading, error) { return s.net(r) }})
	if err != nil {
		return res.Final, err
	}
	// The match may end on a better point than the last one read.
	if d := res.Final.Drive; d != nil && !slices.Equal(d, u.at.drive) {
		if _, err := (lamp{s, u}).Set(ctx, d); err != nil {
			return res.Final, err
		}
	}
	return res.Final, nil
}

// finish keeps what was learnt and records the outcome.
func (s *Session) finish(u *Unit, m *solve.Match, d solve.Decision, kind Kind) error {
	p := m.Posterior()
	u.prior = &p
	u.final = slices.Clone(u.at.drive)
	u.outcome = s.outcomeOf(u, d)
	return s.journal.Append(Entry{Kind: kind, Fixture: u.Info.Name, Outcome: u.outcome})
}

// outcomeOf puts a decision and what the unit cost into words and figures.
func (s *Session) outcomeOf(u *Unit, d solve.Decision) *Outcome {
	o := &Outcome{Result: d.Outcome.String(), Reason: strings.TrimPrefix(d.Reason, d.Outcome.String()+": "), FinalUV: d.Nearest, FinalSD: d.PredictedSD, Probability: d.P,
		Readings: u.tally.readings, Steps: u.tally.steps, Lux: u.tally.lux}
	if !u.tally.began.IsZero() {
		o.Seconds = time.Since(u.tally.began).Seconds()
	}
	if o.FinalUV == (colorcalc.UV{}) {
		o.FinalUV = u.tally.last
	}
	if s.ref != nil && o.FinalUV != (colorcalc.UV{}) {
		o.FinalDelta = o.FinalUV.Dist(s.ref.UV)
		o.Words = colorcalc.Describe(s.ref.UV.XY(), o.FinalUV.XY())
	}
	if u.found != nil {
		o.FoundUV, o.FoundDelta, o.FoundLux = u.found.UV, u.found.Delta, u.found.Lux
	}
	if u.before != nil {
		o.Before = *u.before
	}
	if u.at.drive != nil {
		o.After = u.step(u.at.drive)
	}
	if d.Outcome == solve.OutOfReach {
		o.Advice = advice(s.ref.UV, o.FinalUV)
	}
	if math.IsNaN(o.Probability) {
		o.Probability = 0
	}
	return o
}

// advice says what would help a unit that cannot reach the target: what a
// filter in front of it must do, or that the others come to it.
func advice(target, stands colorcalc.UV) string {
	tk, td, err1 := colorcalc.CCT(target.XY())
	sk, sd, err2 := colorcalc.CCT(stands.XY())
	if err1 != nil || err2 != nil {
		return "no white: a filter cannot be named from chromaticity; take the nearest point as the target for all"
	}
	return fmt.Sprintf("a filter that shifts by %+.0f mired and %+.4f Duv would help (predicted from chromaticity), or match the others to this lamp",
		float64(tk.Mired()-sk.Mired()), float64(td-sd))
}
