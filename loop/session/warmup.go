package session

import (
	"context"
	"fmt"
	"time"

	"trueup/loop/solve"
)

// warmUp lights every unit at its working level and waits, so that what drifts
// with heat has drifted before anything is judged. Lamps that share a probe go
// out again one after another while one of them is read; they cool more slowly
// than they warmed.
func (s *Session) warmUp(ctx context.Context) error {
	if s.plan.WarmUp <= 0 {
		return nil
	}
	if err := s.journal.Append(Entry{Kind: KindLevel, Note: fmt.Sprintf("warming up all fixtures for %s", s.plan.WarmUp)}); err != nil {
		return err
	}
	for _, u := range s.units {
		if !s.ours(u) {
			continue
		}
		m, err := s.matchFrom(u, nil)
		if err != nil {
			return err
		}
		d := m.Next(s.clock())
		if d.Action != solve.Move {
			continue
		}
		step := u.step(d.Drive)
		step.Action = "warm up"
		if err := s.journal.Append(Entry{Kind: KindStep, Fixture: u.Info.Name, Step: &step}); err != nil {
			return err
		}
		if err := s.wire.Wish(u.Head, d.Drive); err != nil {
			return fmt.Errorf("%s: %w", u.Info.Name, err)
		}
		u.at.drive = d.Drive
		if _, err := s.wait(ctx, u.Head); err != nil {
			return fmt.Errorf("%s: %w", u.Info.Name, err)
		}
	}
	s.lit = nil
	defer s.showLife(ctx)()
	select {
	case <-time.After(s.plan.WarmUp):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
