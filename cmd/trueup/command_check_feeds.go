package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/loop/session/rig"
	"trueup/profiles/yamlfile"
)

// feedCheck is one feed of a rig while it is looked at.
type feedCheck struct {
	rig    rig.Feed
	asks   bool                // the instrument is asked for each reading
	users  map[string][]string // the fixtures that each probe sees; none for a probe that only the feed names
	err    error               // it could not be opened
	status feed.Status
	mu     sync.Mutex
	read   map[string]feed.Reading // what came, by probe
}

// checkFeeds reads every probe of every feed, as a run does before it moves any
// light, and gives each as long. All are read at once, so that one dead feed
// does not hide the next.
func checkFeeds(ctx context.Context, w io.Writer, r *rig.Rig, set *settings) error {
	if len(r.Feeds) == 0 {
		return fmt.Errorf("%s: the rig has no feed: nothing could be measured; add one under 'feeds:'", r.Path)
	}
	base, err := feedBase(set, r.Path, zerolog.Nop(), nil)
	if err != nil {
		return err
	}
	feeds, faults := probesToRead(r)
	ctx, cancel := context.WithTimeout(ctx, session.MeterTimeout)
	defer cancel()
	var all sync.WaitGroup
	for _, f := range feeds {
		if f.rig.Kind != "hand" {
			all.Go(func() { f.listen(ctx, base) })
		}
	}
	all.Wait()
	fmt.Fprintln(w, "feeds:")
	for _, f := range feeds {
		if f.rig.Kind == "hand" {
			fmt.Fprintf(w, "  %s: a person reads the meter (trueup byhand)\n", f.rig.Name)
			continue
		}
		f.show(w)
		faults = append(faults, f.fault(r))
	}
	return errors.Join(faults...)
}

// unalignedProbes is what a match of all fixtures of a rig says of probes that were never brought into agreement; "" for nothing.
func unalignedProbes(r *rig.Rig) (words string, err error) {
	if session.ReadByHand(r) {
		return "", nil // a person carries one meter about
	}
	known, err := feed.LoadCorrections(filepath.Join(filepath.Dir(r.Path), correctionsName))
	if err != nil {
		return "", err
	}
	var used []string
	for i := range r.Fixtures {
		used = append(used, r.Fixtures[i].Probe)
	}
	return session.UnalignedWords(used, known, r.Tolerance), nil
}

// probesToRead sorts the probes that the fixtures name, and those that only a
// feed names, to their feeds.
func probesToRead(r *rig.Rig) ([]*feedCheck, []error) {
	var feeds []*feedCheck
	var faults []error
	for _, f := range r.Feeds {
		c := &feedCheck{rig: f, users: map[string][]string{}, read: map[string]feed.Reading{}}
		for _, name := range f.Probes {
			c.users[name] = nil
		}
		feeds = append(feeds, c)
	}
	lost := map[string]bool{}
	for _, x := range r.Fixtures {
		i, err := session.FeedOf(r.Feeds, x.Probe)
		if err == nil {
			feeds[i].users[x.Probe] = append(feeds[i].users[x.Probe], x.Name)
		} else if !lost[x.Probe] {
			lost[x.Probe] = true
			faults = append(faults, fmt.Errorf("%s:%d:%d: fixture %q: %w", r.Path, x.Pos.Line, x.Pos.Col, x.Name, err))
		}
	}
	for _, f := range feeds {
		if len(f.users) == 0 {
			f.users[""] = nil // whatever it brings
		}
	}
	return feeds, faults
}

// listen opens the feed and waits for one reading of each of its probes. One too dark for a colour serves, as it
// does when a run begins: on a dark stage a meter sees nothing, and is not at fault.
func (f *feedCheck) listen(ctx context.Context, base feed.Config) {
	c, err := session.FeedConfig(f.rig, base)
	if err != nil {
		f.err = err
		return
	}
	f.asks = c.Instrument.Asks()
	open, err := feed.Open(ctx, c)
	if err != nil {
		f.err = err
		return
	}
	var all sync.WaitGroup
	for name := range f.users {
		all.Go(func() {
			reading, err := open.NextDarkAfter(ctx, name, time.Time{})
			if err != nil {
				return // the feed's state says why
			}
			f.mu.Lock()
			f.read[name] = reading
			f.mu.Unlock()
		})
	}
	all.Wait()
	f.status = open.Status()
	open.Close()
}

// show prints what came. Names of probes are text from outside, so they are
// quoted.
func (f *feedCheck) show(w io.Writer) {
	state := f.status.State.String()
	if f.err != nil {
		state = "can not be opened"
	}
	fmt.Fprintf(w, "  %s (%s %s): %s\n", f.rig.Name, f.rig.Kind, filepath.ToSlash(f.rig.Address), state)
	for _, name := range slices.Sorted(maps.Keys(f.users)) {
		text := "no reading"
		reading, came := f.read[name]
		if came {
			text = seenWords(reading)
		}
		if name != "" && len(f.users[name]) == 0 {
			text += "; no fixture is seen by it"
		}
		if name == "" {
			name = reading.Probe
		}
		if name == "" {
			fmt.Fprintf(w, "    %s\n", text)
			continue
		}
		fmt.Fprintf(w, "    probe %s: %s\n", strconv.Quote(name), text)
	}
	for _, name := range f.status.Probes {
		if _, known := f.users[name]; !known && !f.any() {
			fmt.Fprintf(w, "    probe %s: brought too, and no fixture is seen by it\n", strconv.Quote(name))
		}
	}
}

// seenWords is what a probe sees.
func seenWords(r feed.Reading) string {
	xy := r.UV.XY()
	text := fmt.Sprintf("x %.4f y %.4f", xy.X, xy.Y)
	if r.Flags.Has(feed.Underrange) {
		text = "dark: it answers, and sees too little light for a colour"
	} else if r.HasY {
		text += fmt.Sprintf(" %.1f lux", r.Y)
	}
	return text
}

// any tells whether whatever the feed brings is read, whichever probe it is of.
func (f *feedCheck) any() bool {
	_, any := f.users[""]
	return any
}

// fault says in one error which of the probes that are needed did not answer,
// as a run would before it moves any light, and what is likely to mend it.
func (f *feedCheck) fault(r *rig.Rig) error {
	at := fmt.Sprintf("%s:%d:%d", r.Path, f.rig.Pos.Line, f.rig.Pos.Col)
	if f.err != nil {
		return fmt.Errorf("%s: %w", at, f.err)
	}
	var missing []string
	for _, name := range slices.Sorted(maps.Keys(f.users)) {
		_, came := f.read[name]
		if needed := len(f.users[name]) > 0 || name == ""; !came && needed {
			missing = append(missing, name)
		}
	}
	if len(missing) == 0 {
		return nil
	}
	return fmt.Errorf("%s: no reading%s within %s: %s; %s", at, ofProbes(missing), session.MeterTimeout, session.FeedTrouble(f.status), f.remedy(missing))
}

func (f *feedCheck) remedy(missing []string) string {
	s := f.status
	switch {
	case len(s.Probes) > 0:
		text := fmt.Sprintf("it brings %s", quoted(s.Probes))
		if near := yamlfile.Nearest(missing[0], s.Probes); near != "" {
			text += fmt.Sprintf(" (did you mean %s?)", strconv.Quote(near))
		}
		if users := f.users[missing[0]]; len(users) > 0 {
			text += fmt.Sprintf("; the rig says that %s is seen by probe %q", quoted(users[:min(3, len(users))]), missing[0])
		}
		return text
	case len(s.SetAside) > 0:
		return "'trueup feed try' shows what it sends and why that is no reading"
	case !s.Linked:
		return "'trueup feed try' shows what passes between it and us"
	case f.asks:
		return "it is connected, was asked, and did not answer: does it know this request? 'trueup feed try' shows what is sent"
	}
	return "it is connected and says nothing: switch it to sending by itself, or, where it only talks when it is asked, say how under poll: in its instrument description"
}

// ofProbes names what was not read; a feed without named probes has just its reading.
func ofProbes(names []string) string {
	if len(names) == 1 {
		return session.OfProbe(names[0])
	}
	return " of probe " + quoted(names)
}

func quoted(names []string) string {
	var all []string
	for _, n := range names {
		all = append(all, strconv.Quote(n))
	}
	return strings.Join(all, ", ")
}
