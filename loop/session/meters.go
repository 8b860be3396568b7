package session

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
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
	named []string   // the probes that fixtures of the rig have
}

// OpenMeters opens every feed of the rig. Close them with Close.
func OpenMeters(ctx context.Context, r *rig.Rig, base feed.Config) (*FeedMeters, error) {
	m := &FeedMeters{rig: r.Feeds}
	for _, f := range r.Fixtures {
		m.named = append(m.named, f.Probe)
	}
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
func (m *FeedMeters) Trouble() string { return m.troubleSince(make([]feed.Status, len(m.feeds))) }

// TroubleFromNow is Trouble for later, of the readings alone that come from now on.
func (m *FeedMeters) TroubleFromNow() func() string {
	var before []feed.Status
	for _, f := range m.feeds {
		before = append(before, f.Status())
	}
	return func() string { return m.troubleSince(before) }
}

func (m *FeedMeters) troubleSince(before []feed.Status) string {
	var all []string
	for i, f := range m.feeds {
		s := f.Status().Since(before[i])
		all = append(all, FeedTrouble(s)+strangers(s.Probes, m.named))
	}
	return strings.Join(all, "; ")
}

// mostStrangers is how many names of unknown probes a sentence lists.
const mostStrangers = 3

// strangers says which probes a feed brings that no fixture has: a meter that was exchanged, or paired again, may call its heads otherwise.
func strangers(brings, named []string) string {
	var names []string
	for _, p := range brings {
		if p != "" && !slices.Contains(named, p) && len(names) < mostStrangers {
			names = append(names, strconv.Quote(p))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return fmt.Sprintf(", and brings readings of %s, which no fixture of the rig names as its probe", strings.Join(names, ", "))
}

// Close closes the feeds.
func (m *FeedMeters) Close() error {
	var errs []error
	for _, f := range m.feeds {
		errs = append(errs, f.Close())
	}
	return errors.Join(errs...)
}
