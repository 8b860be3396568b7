package session

import (
	"errors"
	"fmt"

	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// EachItsProbe refuses, with people aloft, lamps of which no probe can tell the
// light: no lamp is put out to measure another, and no background is taken off,
// so a probe under two lit heads reads their mixture, and both would be matched
// to it. A fixed lamp is always lit; a lamp that a person sets is not sent
// anything, and the person is told to keep the others off. Runs and checks ask
// it; a rig may be written while nobody is aloft.
func EachItsProbe(r *rig.Rig) error {
	if !r.Safety.Limits.PeopleAloft {
		return nil
	}
	first, heads := map[string]*rig.Fixture{}, map[string]int{}
	for i := range r.Fixtures {
		if f := &r.Fixtures[i]; !f.ByHand {
			heads[f.Probe] += max(f.Heads, 1)
		}
	}
	var faults []error
	for i := range r.Fixtures {
		f := &r.Fixtures[i]
		if f.ByHand {
			continue
		}
		why := core.AloftWords(heads[f.Probe], r.Tolerance, r.Safety.Limits.KeepLight)
		if f.Sent() && f.Heads > 1 {
			faults = append(faults, fmt.Errorf("%s:%d:%d: fixture %q has %d heads at probe %q, and %s; write heads: 1, or match it when nobody is aloft",
				r.Path, f.Pos.Line, f.Pos.Col, f.Name, f.Heads, f.Probe, why))
		}
		g, shared := first[f.Probe]
		if !shared {
			first[f.Probe] = f
			continue
		}
		if f.Sent() || g.Sent() {
			faults = append(faults, fmt.Errorf("%s:%d:%d: fixture %q and fixture %q (line %d) are both lit at probe %q, and %s; give each a probe of its own, or match them when nobody is aloft",
				r.Path, f.Pos.Line, f.Pos.Col, f.Name, g.Name, g.Pos.Line, f.Probe, why))
		}
	}
	return errors.Join(faults...)
}
