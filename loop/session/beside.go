package session

import (
	"context"
	"fmt"
	"strings"
	"time"

	"trueup/dmx/sacn"
	"trueup/loop/feed"
)

// besideMeters are the meters of an overlay run. While a source stands at our
// priority or above it, that source owns the light: readings are void, and the
// run waits here, within its own time-out, until the light is ours again.
type besideMeters struct {
	*FeedMeters
	above func() []sacn.SourceInfo
	say   func(note string) // an event of the run, once for each conflict
	after time.Duration     // what the light needs when it is ours again
}

// ReadAfter implements Meters.
func (m *besideMeters) ReadAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error) {
	return m.unowned(ctx, probe, settled, m.FeedMeters.ReadAfter)
}

func (m *besideMeters) unowned(ctx context.Context, probe string, settled time.Time, read func(context.Context, string, time.Time) (feed.Reading, error)) (feed.Reading, error) {
	said := false
	for {
		r, err := read(ctx, probe, settled)
		if err != nil {
			return r, err
		}
		rivals := m.above()
		if len(rivals) == 0 {
			return r, nil
		}
		if !said {
			said = true
			m.say("readings are void: " + nameRivals(rivals))
		}
		settled = time.Now().Add(m.after)
	}
}

// ReadDarkAfter is read as any other: who owns the light lights the background too.
func (m *besideMeters) ReadDarkAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error) {
	return m.unowned(ctx, probe, settled, m.FeedMeters.ReadDarkAfter)
}

// ReadAnyAfter is read as any other too.
func (m *besideMeters) ReadAnyAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error) {
	return m.unowned(ctx, probe, settled, m.FeedMeters.ReadAnyAfter)
}

// TroubleFromNow adds who owns the light to what the feeds are doing.
func (m *besideMeters) TroubleFromNow() func() string {
	feeds := m.FeedMeters.TroubleFromNow()
	return func() string {
		text := feeds()
		if rivals := m.above(); len(rivals) > 0 {
			text += "; " + nameRivals(rivals)
		}
		return text
	}
}

// nameRivals names sources from the network, quoted: their names are anybody's.
func nameRivals(all []sacn.SourceInfo) string {
	var names []string
	for _, s := range all {
		names = append(names, fmt.Sprintf("%q from %s at priority %d on universe %d", s.Name, s.From, s.Claim(), s.Universe))
	}
	return strings.Join(names, ", ") + " owns the light; take it down, or give this run a higher priority"
}
