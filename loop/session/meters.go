package session

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"trueup/loop/feed"
	"trueup/loop/session/rig"
)

// FeedMeters serves readings from the feeds of a rig: each probe from the feed
// that names it, and everything from the only feed where there is one.
type FeedMeters struct {
	feeds []*feed.Feed
	rig   []rig.Feed // as the rig file has them, in the same order
}

// OpenMeters opens every feed of the rig. Close them with Close.
func OpenMeters(ctx context.Context, r *rig.Rig, base feed.Config) (*FeedMeters, error) {
	m := &FeedMeters{rig: r.Feeds}
	for _, f := range r.Feeds {
		c, err := FeedConfig(f, base)
		if err != nil {
			return nil, errors.Join(err, m.Close())
		}
		open, err := feed.Open(ctx, c)
		if err != nil {
			return nil, errors.Join(fmt.Errorf("%s:%d:%d: %w", r.Path, f.Pos.Line, f.Pos.Col, err), m.Close())
		}
		m.feeds = append(m.feeds, open)
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

// ReadAnyAfter is ReadDarkAfter where a colour that the instrument can not tell
// serves as well.
func (m *FeedMeters) ReadAnyAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error) {
	f, err := m.feedOf(probe)
	if err != nil {
		return feed.Reading{}, err
	}
	return f.NextAnyAfter(ctx, probe, settled)
}

func (m *FeedMeters) feedOf(probe string) (*feed.Feed, error) {
	i, err := FeedOf(m.rig, probe)
	if err != nil {
		return nil, err
	}
	return m.feeds[i], nil
}

// Trouble says in one line what every feed is doing, and what became of the
// readings that were not used.
func (m *FeedMeters) Trouble() string {
	var all []string
	for _, f := range m.feeds {
		all = append(all, FeedTrouble(f.Status()))
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
