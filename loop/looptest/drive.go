package looptest

import (
	"context"
	"fmt"
	"time"

	"trueup/loop"
	"trueup/loop/feed"
	"trueup/loop/solve"
)

// Lamp takes parameters and returns when they have arrived, with what was sent.
type Lamp interface {
	Set(ctx context.Context, d solve.Drive) (at time.Time, sent solve.Drive, err error)
}

// Source gives the next reading that was integrated wholly after a moment.
type Source interface {
	ReadAfter(ctx context.Context, settled time.Time) (feed.Reading, error)
}

// Drive brings a visit to its end with one lamp and one source, for tests that
// need no session around it. convert takes the background off and attaches the noise.
func Drive(ctx context.Context, v *loop.Visit, start time.Time, lamp Lamp, src Source, convert func(feed.Reading) solve.Reading) error {
	var h loop.Happened
	for {
		n := v.Step(time.Since(start), h)
		switch {
		case n.Done:
			return nil
		case n.Move != nil:
			at, sent, err := lamp.Set(ctx, n.Move)
			if err != nil {
				return fmt.Errorf("setting the lamp: %w", err)
			}
			h = loop.Happened{Arrived: &loop.Arrival{At: at.Sub(start), Sent: sent}}
			continue
		}
		raw, err := src.ReadAfter(ctx, start.Add(n.Read))
		if err != nil {
			return fmt.Errorf("reading the meter: %w", err)
		}
		r := convert(raw)
		r.At = time.Since(start)
		h = loop.Happened{Reading: &r}
	}
}
