package session

import (
	"fmt"
	"slices"
	"strings"

	"trueup/loop/feed"
	"trueup/loop/session/rig"
	"trueup/profiles/printable"
)

// FeedConfig is how a feed of a rig is opened; base holds what all feeds of the
// machine have in common.
func FeedConfig(f rig.Feed, base feed.Config) (feed.Config, error) {
	c := base
	c.Name, c.Kind, c.Address, c.Probes = f.Name, f.Kind, f.Address, f.Probes
	c.Latency, c.Integration, c.StaleAfter = f.Latency, f.Integration, f.StaleAfter
	if f.Instrument == "" {
		return c, nil
	}
	i, err := feed.LoadInstrument(f.Instrument)
	if err != nil {
		return c, err
	}
	c.Instrument = i
	return c, nil
}

// FeedOf is the index of the feed that serves a probe: the one that names it,
// or the only one there is.
func FeedOf(feeds []rig.Feed, probe string) (int, error) {
	if len(feeds) == 1 {
		return 0, nil
	}
	var all []string
	for i, f := range feeds {
		for _, name := range f.Probes {
			if name == probe {
				return i, nil
			}
			all = append(all, name)
		}
	}
	slices.Sort(all)
	if len(all) == 0 {
		return 0, fmt.Errorf("probe %q: the rig has %d feeds, and none says which probes it brings; add probes: to each", probe, len(feeds))
	}
	return 0, fmt.Errorf("no feed names a probe %q; the feeds name %s", probe, strings.Join(all, ", "))
}

// OfProbe says which probe a sentence is about, as its end; nothing where the feed has
// but one, without a name.
func OfProbe(probe string) string {
	if probe == "" {
		return ""
	}
	return fmt.Sprintf(" of probe %q", probe)
}

// FeedTrouble says in one line what a feed is doing, and what became of the
// readings that were not used.
func FeedTrouble(s feed.Status) string {
	text := fmt.Sprintf("feed %s is %s", s.Name, s.State)
	switch {
	case s.State == feed.Waiting && s.Why != "":
		text = fmt.Sprintf("feed %s: %s", s.Name, s.Why)
	case s.Why != "":
		text += " (" + s.Why + ")"
	}
	var aside []string
	for r, n := range s.SetAside {
		aside = append(aside, fmt.Sprintf("%s set aside: %s", printable.Count(int(n), "reading"), r))
	}
	slices.Sort(aside)
	return strings.Join(append([]string{text}, aside...), ", ")
}
