package session

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"trueup/loop/feed"
	"trueup/loop/session/rig"
)

// FeedMeters serves readings from the feeds of a rig: each probe from the feed
// that names it, and everything from the only feed where there is one.
type FeedMeters struct {
	feeds  []*feed.Feed
	probes []map[string]bool // names each feed was given for its probes
}

// OpenMeters opens every feed of the rig. Close them with Close.
func OpenMeters(ctx context.Context, r *rig.Rig, base feed.Config) (*FeedMeters, error) {
	m := &FeedMeters{}
	for _, f := range r.Feeds {
		c := base
		c.Name, c.Kind, c.Address, c.Probes = f.Name, f.Kind, f.Address, f.Probes
		c.Latency, c.Integration, c.StaleAfter = f.Latency, f.Integration, f.StaleAfter
		if f.Instrument != "" {
			i, err := feed.LoadInstrument(f.Instrument)
			if err != nil {
				return nil, errors.Join(err, m.Close())
			}
			c.Instrument = i
		}
		open, err := feed.Open(ctx, c)
		if err != nil {
			return nil, errors.Join(fmt.Errorf("%s:%d:%d: %w", r.Path, f.Pos.Line, f.Pos.Col, err), m.Close())
		}
		names := map[string]bool{}
		for _, p := range f.Probes {
			names[p] = true
		}
		m.feeds, m.probes = append(m.feeds, open), append(m.probes, names)
	}
	if len(m.feeds) == 0 {
		return nil, fmt.Errorf("%s: the rig has no feed: nothing could be measured; add one under 'feeds:'", r.Path)
	}
	return m, nil
}

// ReadAfter implements Meters.
func (m *FeedMeters) ReadAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error) {
	f, err := m.feedOf(probe)
	if err != nil {
		return feed.Reading{}, err
	}
	return f.NextAfter(ctx, probe, settled)
}

// ReadDarkAfter is ReadAfter for a background: a reading that the instrument
// calls too dark for a colour serves as well.
func (m *FeedMeters) ReadDarkAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error) {
	f, err := m.feedOf(probe)
	if err != nil {
		return feed.Reading{}, err
	}
	return f.NextDarkAfter(ctx, probe, settled)
}

func (m *FeedMeters) feedOf(probe string) (*feed.Feed, error) {
	if len(m.feeds) == 1 {
		return m.feeds[0], nil
	}
	for i, names := range m.probes {
		if names[probe] {
			return m.feeds[i], nil
		}
	}
	var all []string
	for _, names := range m.probes {
		for n := range names {
			all = append(all, n)
		}
	}
	slices.Sort(all)
	return nil, fmt.Errorf("no feed names a probe %q; the feeds name %s", probe, strings.Join(all, ", "))
}

// Trouble says in one line what every feed is doing, and what became of the
// readings that were not used.
func (m *FeedMeters) Trouble() string {
	var all []string
	for _, f := range m.feeds {
		s := f.Status()
		text := fmt.Sprintf("feed %s is %s", s.Name, s.State)
		if s.Why != "" {
			text += " (" + s.Why + ")"
		}
		var aside []string
		for r, n := range s.SetAside {
			aside = append(aside, fmt.Sprintf("%d readings set aside: %s", n, r))
		}
		slices.Sort(aside)
		all = append(all, strings.Join(append([]string{text}, aside...), ", "))
	}
	return strings.Join(all, "; ")
}

// Close closes the feeds.
func (m *FeedMeters) Close() error {
	var errs []error
	for _, f := range m.feeds {
		errs = append(errs, f.Close())
	}
	return errors.Join(errs...)
}
