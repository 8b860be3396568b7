package loop

import (
	"context"
	"fmt"
	"time"

	"trueup/loop/feed"
	"trueup/loop/solve"
)

// Lamp takes parameters and says when they have arrived on the wire. What was
// sent may differ from what was asked for: limits come first.
type Lamp interface {
	Set(ctx context.Context, d solve.Drive) (Arrival, error)
}

// Arrival is the moment at which the wire reached a drive, and the drive that
// it really reached.
type Arrival struct {
	At   time.Time
	Sent solve.Drive
}

// Source gives the next reading that was integrated wholly after a moment.
type Source interface {
	ReadAfter(ctx context.Context, settled time.Time) (feed.Reading, error)
}

// Recorder keeps what happens. A Recorder's error ends the match: the journal
// is on disk before the next step is sent, or there is no next step.
type Recorder interface {
	Decided(solve.Decision) error
	Arrived(Arrival) error
	Read(feed.Reading, solve.Reading) error
	Accounted(solve.Account) error
}

// Options of one match.
type Options struct {
	Settle time.Duration // from arrival on the wire to steady light
	Start  time.Time     // zero of the estimate's clock
	// Convert turns a reading into what the estimate takes: background off,
	// noise attached.
	Convert func(feed.Reading) (solve.Reading, error)
}

// Result is how a match ended.
type Result struct {
	Final    solve.Decision // the last decision, with outcome and reason
	At       Arrival        // where the lamp stands
	Readings int            // all readings taken, those set aside too
	Steps    int            // how often the lamp was moved
}

// Match brings one lamp to one target: decide, move, wait, read, learn, until
// the estimate calls an outcome (its own budget of readings bounds that). The
// lamp is left where the last decision put it; at is where it stands on entry.
//
// Errors are those of the lamp, the source and the recorder, each with where it
// happened; the Result then holds what was reached so far.
func Match(ctx context.Context, m *solve.Match, lamp Lamp, src Source, rec Recorder, at Arrival, o Options) (Result, error) {
	res := Result{At: at}
	for {
		d := m.Next(time.Since(o.Start))
		res.Final = d
		if err := rec.Decided(d); err != nil {
			return res, err
		}
		if d.Action == solve.Done {
			return res, nil
		}
		if d.Action == solve.Move {
			arrived, err := lamp.Set(ctx, d.Drive)
			if err != nil {
				return res, fmt.Errorf("setting the lamp: %w", err)
			}
			if err := rec.Arrived(arrived); err != nil {
				return res, err
			}
			res.At = arrived
			res.Steps++
		}
		raw, err := src.ReadAfter(ctx, res.At.At.Add(o.Settle))
		if err != nil {
			return res, fmt.Errorf("reading the meter: %w", err)
		}
		res.Readings++
		r, err := o.Convert(raw)
		if err != nil {
			return res, err
		}
		r.At, r.Drive = time.Since(o.Start), res.At.Sent
		if err := rec.Read(raw, r); err != nil {
			return res, err
		}
		if err := rec.Accounted(m.Observe(r)); err != nil {
			return res, err
		}
	}
}
