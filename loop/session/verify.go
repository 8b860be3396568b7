package session

import (
	"context"
	"errors"
	"fmt"

	"trueup/loop/solve"
)

// surveyUnit reads a unit at what its profile says is the reference's colour.
func (s *Session) surveyUnit(ctx context.Context, u *Unit) error {
	m, err := s.matchFrom(u, nil) // as found is what the profile says, not what sisters taught
	if err != nil {
		return err
	}
	if u.Found != nil {
		_, err := s.station(ctx, u, m, u.Found, "as found", 1)
		return err
	}
	d := m.Next(s.clock())
	if d.Action != solve.Move {
		return fmt.Errorf("%s has no setting to begin with: %s", u.Info.Name, d.Reason)
	}
	rec := &recorder{s: s, u: u}
	if err := rec.Decided(d); err != nil {
		return err
	}
	a, err := (lamp{s, u}).Set(ctx, d.Drive)
	if err != nil {
		return err
	}
	if err := rec.Arrived(a); err != nil {
		return err
	}
	raw, err := s.read(ctx, u.Info.Probe, a.At.Add(u.Settle))
	if err != nil {
		return err
	}
	net, err := s.net(raw)
	if err != nil {
		return err
	}
	return rec.Read(raw, net)
}

// verifyUnit sets a unit to its matched setting again, takes fresh readings,
// and trims it when they say that it has moved since. The proof is in the
// fresh readings together with all before them; a unit that never landed is
// read again too, so that the report shows where it stands.
func (s *Session) verifyUnit(ctx context.Context, u *Unit) error {
	if u.final == nil || u.outcome == nil || u.outcome.Result == solve.Held.String() {
		return nil
	}
	err := s.readAgain(ctx, u)
	if errors.Is(err, errNoLight) {
		u.outcome = s.outcomeOf(u, solve.Decision{Outcome: solve.Held, Reason: err.Error()})
		return s.journal.Append(Entry{Kind: KindVerify, Fixture: u.Info.Name, Outcome: u.outcome})
	}
	return err
}

func (s *Session) readAgain(ctx context.Context, u *Unit) error {
	m, err := s.newMatch(u)
	if err != nil {
		return err
	}
	last, err := s.station(ctx, u, m, u.final, "verify", min(readingsFor(s.noise.sigmaUV(), s.plan.Tolerance), maxVerifyReadings))
	if err != nil {
		return err
	}
	if !s.plan.Trim {
		return s.finish(u, m, standing(m.Next(s.clock()), last), KindVerify)
	}
	d, err := s.drive(ctx, u, m)
	if err != nil {
		return err
	}
	return s.finish(u, m, d, KindVerify)
}

// station sets a unit to a drive that the estimate did not ask for, takes
// readings there, and lets the estimate learn from them.
func (s *Session) station(ctx context.Context, u *Unit, m *solve.Match, d solve.Drive, why string, readings int) (last solve.Account, err error) {
	rec := &recorder{s: s, u: u}
	step := u.step(d)
	step.Action = why
	if err := s.journal.Append(Entry{Kind: KindStep, Fixture: u.Info.Name, Step: &step}); err != nil {
		return last, err
	}
	a, err := lamp{s, u}.Set(ctx, d)
	if err != nil {
		return last, err
	}
	if err := rec.Arrived(a); err != nil {
		return last, err
	}
	for range readings {
		raw, err := s.read(ctx, u.Info.Probe, a.At.Add(u.Settle))
		if err != nil {
			return last, err
		}
		net, err := s.net(raw)
		if err != nil {
			return last, err
		}
		net.At, net.Drive = s.clock(), a.Sent
		if err := rec.Read(raw, net); err != nil {
			return last, err
		}
		last = m.Observe(net)
		if err := rec.Accounted(last); err != nil {
			return last, err
		}
	}
	return last, nil
}

// standing is the verdict on a unit that is not to be moved: landed if the
// readings carry that, else unsettled, because it stood once.
func standing(d solve.Decision, a solve.Account) solve.Decision {
	if d.Action == solve.Done {
		return d
	}
	d.Action, d.Outcome = solve.Done, solve.Unsettled
	d.Nearest, d.PredictedSD, d.P, d.Distance = a.Estimate, a.EstimateSD, a.P, a.Error
	d.Reason = "it no longer stands where it was matched; run match to trim it"
	return d
}

// Verify reads the reference and every fixture of an earlier run again, at the
// settings of that run, and moves nothing else.
func (s *Session) Verify(ctx context.Context, previous *Summary) error {
	s.plan.Trim = false
	for _, f := range previous.Fixtures {
		u, ok := findUnit(s.units, f.Name)
		o := f.Final()
		if !ok || u.Head < 0 || o == nil || len(o.After.Codes) != len(u.Rest) {
			continue
		}
		u.final, u.outcome = o.After.Codes, o
	}
	if err := s.prepare(ctx); err != nil {
		return err
	}
	n := 0
	for _, u := range s.units {
		if !s.ours(u) || u.final == nil {
			continue
		}
		n++
		if err := s.verifyUnit(ctx, u); err != nil {
			return s.stopped(ctx, u, err)
		}
	}
	if n == 0 {
		return fmt.Errorf("nothing to verify: the earlier run matched none of the fixtures of this rig")
	}
	return s.journal.Append(Entry{Kind: KindEnd, Note: "verification done"})
}

// maxVerifyReadings bounds what proof may cost with a noisy meter.
const maxVerifyReadings = 6
