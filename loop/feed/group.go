package feed

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Meter is what a group holds: an open feed, or a person.
type Meter interface {
	NextAfter(ctx context.Context, probe string, settledAt time.Time) (Reading, error)
}

// Group is all meters of a rig, asked by probe.
type Group struct{ members []member }

type member struct {
	name   string
	meter  Meter
	probes []string // the rig's names; empty: any
}

// Add puts a meter under its name. probes are the names that it reads; none
// means that it answers for every probe that no other meter names.
func (g *Group) Add(name string, m Meter, probes ...string) {
	g.members = append(g.members, member{name, m, probes})
}

// ReadAfter returns the next reading of a probe whose integration began at or
// after settled. "" asks the first meter for whatever probe it has.
func (g *Group) ReadAfter(ctx context.Context, probe string, settled time.Time) (Reading, error) {
	m, err := g.find(probe)
	if err != nil {
		return Reading{}, err
	}
	return m.meter.NextAfter(ctx, probe, settled)
}

func (g *Group) find(probe string) (member, error) {
	if len(g.members) == 0 {
		return member{}, fmt.Errorf("no feed to read from")
	}
	if probe == "" {
		return g.members[0], nil
	}
	for _, m := range g.members {
		if slices.Contains(m.probes, probe) {
			return m, nil
		}
	}
	for _, m := range g.members {
		if len(m.probes) == 0 {
			return m, nil
		}
	}
	var known []string
	for _, m := range g.members {
		known = append(known, m.probes...)
	}
	return member{}, fmt.Errorf("no feed has a probe %q; there are %s", probe, strings.Join(known, ", "))
}

// Statuses tells the state of every feed of the group, in the order of Add.
func (g *Group) Statuses() []Status {
	var all []Status
	for _, m := range g.members {
		if f, ok := m.meter.(*Feed); ok {
			all = append(all, f.Status())
		}
	}
	return all
}

// Close closes every feed of the group.
func (g *Group) Close() error {
	for _, m := range g.members {
		if f, ok := m.meter.(*Feed); ok {
			f.Close()
		}
	}
	return nil
}
