package session

import (
	"context"
	"slices"
	"time"

	"trueup/loop"
	"trueup/loop/feed"
	"trueup/loop/solve"
)

// lamp is one unit as the loop sees it. Setting it takes the other units of the
// same probe down at the same time, so that one lamp fades into the next and
// the stage is not dark in between; the governor paces both.
type lamp struct {
	s *Session
	u *Unit
}

// Set implements loop.Lamp.
func (l lamp) Set(ctx context.Context, d solve.Drive) (loop.Arrival, error) {
	var fading []*Unit
	if l.s.lit != l.u && !l.s.plan.KeepLit {
		for _, o := range l.s.units {
			if o != l.u && o.Head >= 0 && o.Info.Probe == l.u.Info.Probe && o.Dark != nil {
				now := o.at.drive
				if now == nil {
					now = o.Rest
				}
				dark := o.Dark(now)
				if slices.Equal(dark, now) && o.at.drive != nil {
					continue
				}
				if err := l.s.wire.Wish(o.Head, dark); err != nil {
					return loop.Arrival{}, err
				}
				o.at.drive = dark
				fading = append(fading, o)
			}
		}
		l.s.lit = l.u
	}
	if err := l.s.wire.Wish(l.u.Head, d); err != nil {
		return loop.Arrival{}, err
	}
	at, err := l.s.wait(ctx, l.u.Head)
	if err != nil {
		return loop.Arrival{}, err
	}
	for _, o := range fading {
		t, err := l.s.wait(ctx, o.Head)
		if err != nil {
			return loop.Arrival{}, err
		}
		o.at.when = t
		if t.After(at) {
			at = t
		}
	}
	sent := slices.Clone(l.s.wire.Sent(l.u.Head))
	l.u.at.drive, l.u.at.when = sent, at
	l.u.tally.steps++
	return loop.Arrival{At: at, Sent: sent}, nil
}

// probeSource is one probe as the loop sees it.
type probeSource struct {
	s     *Session
	probe string
}

// ReadAfter implements loop.Source.
func (p probeSource) ReadAfter(ctx context.Context, settled time.Time) (feed.Reading, error) {
	return p.s.read(ctx, p.probe, settled)
}
