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
	begin := time.Now()
	ctx, cancel := context.WithTimeout(ctx, strangersWithin+oneReadingWithin*time.Duration(n))
	defer cancel()
	var mu sync.Mutex
	out := map[string]probeMean{}
	enough := func() bool {
		for _, name := range named {
			if out[name].n < n {
				return false
			}
		}
		for _, m := range out {
			if m.n < n {
				return false
			}
		}
		return len(named) > 0 || len(out) > 0 && time.Since(begin) >= strangersWithin
	}
	var wg sync.WaitGroup
	for _, f := range feeds {
		wg.Go(func() {
			for {
				r, err := f.NextAfter(ctx, "", begin)
				if err != nil {
					return
				}
				mu.Lock()
				m, known := out[r.Probe]
				if m.n < n {
					out[r.Probe] = probeMean{m.xyz.Add(r.XYZ()), r.HasY && (m.hasY || !known), m.n + 1}
				}
				if enough() {
					cancel()
				}
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	for _, name := range named {
		if _, ok := out[name]; !ok {
			return nil, fmt.Errorf("probe %q does not speak: %s", name, strings.Join(states(feeds), "; "))
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("no probe speaks: %s", strings.Join(states(feeds), "; "))
	}
	for name, m := range out {
		if m.n < n {
			return nil, fmt.Errorf("probe %q gave %d of %d readings", name, m.n, n)
		}
		m.xyz = m.xyz.Scale(1 / float64(m.n))
		out[name] = m
	}
	return out, nil
}

func states(feeds []*feed.Feed) []string {
	var out []string
	for _, f := range feeds {
		s := f.Status()
		out = append(out, fmt.Sprintf("%s is %v (%s)", s.Name, s.State, printable.Text(s.Why)))
	}
	return out
}

func namesOf(ms map[string]probeMean) string {
	var names []string
	for n := range ms {
		names = append(names, n)
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}
