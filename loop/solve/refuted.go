package solve

import (
	"math"
	"slices"
)

// An emitter that was called dead and is then driven otherwise puts the story to the test, by its own light. The filter does not
// do so: to it a reading far off is an outlier first and a lamp that has broken next, at a price that is bounded, and by the third
// reading the story explains the lamp as well as before.

// refuted tells whether a reading has refuted that an emitter is dead: the emitter was moved by much, the light was not where the story had it
// but much nearer to where the profile has it, and stood there when it was read again.
func (m *Match) refuted(r *rival) bool {
	if r == nil || r.cause != DeadEmitter {
		return false
	}
	story, profile := m.retold(r), m.retold(nil)
	for k := 1; k+1 < len(m.log.taken); k++ {
		was, t, next := &m.log.taken[k-1], &m.log.taken[k], &m.log.taken[k+1]
		if math.Abs(t.sent[r.emitter]-was.sent[r.emitter]) < refuteMove || !m.alike(t, next) {
			continue
		}
		far := story.log.taken[story.recalled+k].far
		if m.as != nil && m.as.name == r.name && k >= m.since {
			far = min(far, t.far) // by what earlier visits have taught
		}
		if far > refuteFar && far > rivalNearer*profile.log.taken[profile.recalled+k].far {
			return true
		}
	}
	return false
}

// tells reports whether the readings tell anything of a story: of an emitter that was never driven they do not, and that it is
// dead may yet explain them better, only because nothing that sisters have taught binds that story.
func (m *Match) tells(r *rival) bool {
	if r == nil || r.cause != DeadEmitter {
		return true
	}
	driven := func(d []float64) bool { return d[r.emitter] >= deadDriven }
	return slices.ContainsFunc(m.log.taken, func(t taken) bool { return driven(t.sent) }) ||
		slices.ContainsFunc(m.log.unseen, func(at unseen) bool { return driven(m.fractions(at.drive)) })
}

// alike tells whether two readings at one setting agree, in colour and level.
func (m *Match) alike(a, b *taken) bool {
	if !slices.Equal(a.r.Drive, b.r.Drive) {
		return false
	}
	o := m.obs(&b.r)
	if a.r.HasY && b.r.HasY {
		if ln := math.Log(b.r.Y / a.r.Y); ln*ln > 2*agreeSquared*o.RY {
			return false
		}
	}
	return a.near(&o)
}
