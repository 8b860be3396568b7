package session

import (
	"context"
	"fmt"
	"math"
	"time"

	"trueup/loop"
	"trueup/loop/solve"
)

// deadTimeReadings bounds what measuring a dead time may cost; a light that
// still moves after so many readings is not waited for here.
const deadTimeReadings = 20

// learnDeadTime measures how long a fixture type takes to stand still, once a
// run and feed, where its profile does not say: the first unit of the type is set, and
// read from arrival on without waiting until two readings agree. These readings
// count for nothing else, because some of them began before the light settled.
func (s *Session) learnDeadTime(ctx context.Context, u *Unit) error {
	if u.SettleKnown || u.Type == "" {
		return nil
	}
	if known, ok := s.deadTimes[s.deadTimeKey(u)]; ok {
		u.Settle = known
		return nil
	}
	// A match of its own, only for where the real one will begin.
	scout, err := s.newMatch(u)
	if err != nil {
		return err
	}
	first := scout.Next(s.clock())
	if first.Action != solve.Move {
		return nil
	}
	step := u.step(first.Drive)
	step.Action = "dead time"
	if err := s.journal.Append(Entry{Kind: KindStep, Fixture: u.Info.Name, Step: &step}); err != nil {
		return err
	}
	a, err := lamp{s, u}.Set(ctx, first.Drive)
	if err != nil {
		return err
	}
	dead := loop.NewDeadTime(0)
	var samples []loop.Sample
	for len(samples) < deadTimeReadings {
		r, err := s.read(ctx, u.Info.Probe, a.At)
		if err != nil {
			return err
		}
		m := s.measured(r, solve.Reading{UV: r.UV, Y: r.Y, HasY: r.HasY, SigmaUV: s.noise.sigmaUV()})
		if err := s.journal.Append(Entry{Kind: KindSettle, Fixture: u.Info.Name, Reading: &m}); err != nil {
			return err
		}
		lnY := math.NaN()
		if r.HasY && r.Y > 0 {
			lnY = math.Log(r.Y)
		}
		samples = append(samples, loop.Sample{After: r.Time.Sub(a.At), UV: r.UV, LnY: lnY})
		if dead.Learn(samples, s.noise.sigmaUV(), s.noise.sigmaLnY()) {
			break
		}
	}
	wait := dead.Wait()
	if len(samples) == deadTimeReadings {
		wait = max(wait, samples[len(samples)-1].After)
	}
	s.deadTimes[s.deadTimeKey(u)] = wait
	u.Settle = wait
	return s.journal.Append(Entry{Kind: KindSettle, Fixture: u.Info.Name,
		Note: fmt.Sprintf("%s: light stands still %d ms after the wire has arrived", u.Info.Profile, wait/time.Millisecond)})
}
