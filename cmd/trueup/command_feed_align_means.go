package main

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"trueup/colorcalc"
	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/profiles/printable"
)

// correctionsPath is where the corrections of a rig's probes are kept.
func correctionsPath(rigPath string) string {
	return filepath.Join(filepath.Dir(rigPath), correctionsName)
}

// probeMean is what one probe read of a lamp.
type probeMean struct {
	xyz  colorcalc.XYZ
	hasY bool
	n    int
}

// Bounds of a round: how long one reading may take, and how long probes that
// nobody named are waited for.
const (
	oneReadingWithin = 20 * time.Second
	strangersWithin  = 3 * time.Second
)

// meansOf reads all probes of all feeds side by side until each has n readings
// that began after the call. named are the probes that must speak; without
// any, those that speak within a few seconds count.
func meansOf(ctx context.Context, feeds []*feed.Feed, named []string, n int) (map[string]probeMean, error) {
	ctx, cancel := context.WithTimeout(ctx, strangersWithin+oneReadingWithin*time.Duration(n))
	defer cancel()
	r := &round{begin: time.Now(), named: named, n: n, means: map[string]probeMean{}}
	var wg sync.WaitGroup
	for _, f := range feeds {
		wg.Go(func() {
			for {
				reading, err := f.NextAfter(ctx, "", r.begin)
				if err != nil {
					return
				}
				if r.take(reading) {
					cancel()
				}
			}
		})
	}
	wg.Wait()
	return r.result(feeds)
}

// round is one reading of all probes.
type round struct {
	begin time.Time
	named []string
	n     int

	mu    sync.Mutex
	means map[string]probeMean // sums, until result
}

// take adds a reading, and reports whether there are enough of every probe.
func (r *round) take(x feed.Reading) (enough bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	m, known := r.means[x.Probe]
	if m.n < r.n {
		r.means[x.Probe] = probeMean{m.xyz.Add(x.XYZ()), x.HasY && (m.hasY || !known), m.n + 1}
	}
	for _, name := range r.named {
		if r.means[name].n < r.n {
			return false
		}
	}
	for _, m := range r.means {
		if m.n < r.n {
			return false
		}
	}
	return len(r.named) > 0 || time.Since(r.begin) >= strangersWithin
}

// result gives the means, or says which probe did not speak or not enough.
func (r *round) result(feeds []*feed.Feed) (map[string]probeMean, error) {
	for _, name := range r.named {
		if _, ok := r.means[name]; !ok {
			return nil, fmt.Errorf("probe %q does not speak: %s", name, strings.Join(states(feeds), "; "))
		}
	}
	if len(r.means) == 0 {
		return nil, fmt.Errorf("no probe speaks: %s", strings.Join(states(feeds), "; "))
	}
	for name, m := range r.means {
		if m.n < r.n {
			return nil, fmt.Errorf("probe %q gave %d of %d readings", name, m.n, r.n)
		}
		m.xyz = m.xyz.Scale(1 / float64(m.n))
		r.means[name] = m
	}
	return r.means, nil
}

func states(feeds []*feed.Feed) []string {
	var out []string
	for _, f := range feeds {
		out = append(out, printable.Text(session.FeedTrouble(f.Status())))
	}
	return out
}

func namesOf(ms map[string]probeMean) string {
	var names []string
	for n := range ms {
		names = append(names, printable.Text(n))
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}
