package session

import (
	"context"
	"errors"
	"fmt"
	"time"

	"trueup/loop"
	"trueup/loop/solve"
)

// surveyUnit reads a unit at what its profile says is the reference's colour.
func (s *Session) surveyUnit(ctx context.Context, u *Unit) error {
	m, err := s.matchFrom(u, nil) // as found is what the profile says, not what sisters taught
	if err != nil {
		return err
	}
	if u.Found != nil {
		return s.station(ctx, u, m, u.Found, "as found", 1)
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
	_, err = s.readAt(ctx, u, a, rec)
	return err
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
	if u.prior != nil {
		u.prior.IdleSeconds = time.Since(u.at.read).Seconds() // its warmth has moved since
	}
	m, err := s.newMatch(u)
	if err != nil {
		return err
	}
	if s.commonLux > 0 {
		d, err := s.drive(ctx, u, m)
		if err != nil {
			return err
		}
		return s.finish(u, m, d, KindVerify)
	}
	if err := s.station(ctx, u, m, u.final, "verify", min(readingsFor(s.noise.sigmaUV(), s.plan.Tolerance), maxVerifyReadings)); err != nil {
		return err
	}
	d, err := s.drive(ctx, u, m)
	if err != nil {
		return err
	}
	return s.finish(u, m, d, KindVerify)
}

// station sets a unit to a drive that the estimate did not ask for, takes
// readings there, and lets the estimate learn from them.
func (s *Session) station(ctx context.Context, u *Unit, m *solve.Match, d solve.Drive, why string, readings int) error {
	rec := &recorder{s: s, u: u}
	a, err := s.stand(ctx, u, d, why)
	if err != nil {
		return err
	}
	for range readings {
		net, err := s.readAt(ctx, u, a, rec)
		if err != nil {
			return err
		}
		if err := rec.Accounted(m.Observe(net)); err != nil {
			return err
		}
	}
	return nil
}

// stand sets a unit to a drive, with the journal before and after.
func (s *Session) stand(ctx context.Context, u *Unit, d solve.Drive, why string) (loop.Arrival, error) {
	step := u.step(d)
	step.Action = why
	if err := s.journal.Append(Entry{Kind: KindStep, Fixture: u.Info.Name, Step: &step}); err != nil {
		return loop.Arrival{}, err
	}
	a, err := lamp{s, u}.Set(ctx, d)
	if err != nil {
		return a, err
	}
	return a, (&recorder{s: s, u: u}).Arrived(a)
}

// readAt takes one recorded reading of a unit where it stands.
func (s *Session) readAt(ctx context.Context, u *Unit, a loop.Arrival, rec *recorder) (solve.Reading, error) {
	raw, err := s.read(ctx, u.Info.Probe, a.At.Add(u.Settle))
	if err != nil {
		return solve.Reading{}, err
	}
	net, err := s.net(raw)
	if err != nil {
		return net, err
	}
	net.At, net.Drive = s.clock(), a.Sent
	return net, rec.Read(raw, net)
}

// maxVerifyReadings bounds what proof may cost with a noisy meter.
const maxVerifyReadings = 6
