package core

import (
	"slices"

	"trueup/loop/solve"
)

// A match reads a unit as found, where the profile sets it, to tell afterwards how it stood before. Once its type
// is taught, that reading tells the match little: it begins better elsewhere, and a setting is saved. How
// the unit stood is computed then, at the end, from what its other readings have taught.

// leastTaught units of a type must have been matched before where a match begins is better known than by the profile. With
// fewer, the match took as many readings more as were saved.
const leastTaught = 3

// notSet is the action of the step that tells a setting as found at which the unit was not read.
const notSet = "as found, not set"

// Unread tells whether the unit was matched without being read as found.
func (o *Outcome) Unread() bool { return o != nil && o.Before != nil && o.Before.Action == notSet }

// passesOver tells whether a first visit goes straight to where its match begins, and is not made at the nominal setting
// of its profile: not where a person asked for it, is aloft or reads the meter, and not where that setting is within
// tolerance by what is known of the type, so that it is as good a beginning as any.
func (c *Core) passesOver(u *unit, m *solve.Match, nominal solve.Drive) bool {
	p := &c.cfg.Plan
	if nominal == nil || p.AsFound || p.KeepLit || p.HandMeter || c.cfg.Work != Match || c.cfg.Batches[u.Type].Units < leastTaught {
		return false
	}
	scout, err := c.newMatch(u, 0) // of its own: to be asked where it begins binds a match to go there
	if err != nil || slices.Equal(scout.Next(c.now).Drive, nominal) {
		return false
	}
	ref, _ := c.target()
	uv, _ := m.Expect(nominal)
	return uv.Dist(ref) > p.Tolerance
}

// computeFound computes how a unit stood that was not read as found, when it has landed and nothing about it is odd. Each
// visit computes it anew: what was known before may have been of another background, or of a lamp that was another by then.
func (c *Core) computeFound(u *unit, m *solve.Match, o solve.Outcome) {
	if u.unread == nil || u.found != nil && !u.found.Computed {
		return
	}
	u.found = nil
	if !believed(o) || u.tally.kept < leastKept || c.ref == nil || u.moves > 0 {
		return
	}
	if at, ok := m.Unread(u.unread); ok {
		u.found = &Stand{UV: at.UV, Delta: at.UV.Dist(c.ref.UV), SD: at.SD, Lux: at.Y, Computed: true}
	}
}

// believed tells whether an outcome claims that the unit does as its model says.
func believed(o solve.Outcome) bool { return o == solve.Landed || o == solve.Predicted }

// asFound is how a unit stood as found: by a reading; computed only where it ends so that its model is believed.
func (u *unit) asFound(o solve.Outcome) *Stand {
	if u.found != nil && u.found.Computed && !believed(o) {
		return nil
	}
	return u.found
}
