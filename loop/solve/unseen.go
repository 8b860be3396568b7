package solve

import (
	"math"
	"slices"
)

// Unseen takes in that readings in a row saw no light of the head at a drive, where some was to be
// expected; around is as in [Reading]. It reports whether that tells what is wrong with the head: then the match goes on from there.
func (m *Match) Unseen(d Drive, around []byte) bool {
	if len(m.log.taken) == 0 || len(d) != len(m.spec.Channels) || len(m.log.unseen) >= mostUnseen {
		return false
	}
	m.log.unseen = append(m.log.unseen, unseen{slices.Clone(d), around})
	m.stand.underWay = false
	m.arrive(d, m.fractions(d))
	m.fault.worst = max(m.fault.worst, 2*rivalFrom) // nothing fits worse than no light at all
	return m.compete(false) && !m.fault.ends()
}

// HasUnseen tells whether the match knows of a drive at which no light was seen.
func (m *Match) HasUnseen() bool { return len(m.log.unseen) > 0 }

// evidence is ln of the evidence of all readings, and of the drives at which no light was seen: each
// counts as an outlier that repeats itself, unless little light was to be expected beside the brightest reading. So does a story that has a head lit in the dark that was not.
func (m *Match) evidence() float64 {
	total := m.sum.LogEvidence
	bright, _ := m.brightest()
	for _, at := range m.log.unseen {
		z := m.sum.Filter.Predict(&m.sum.Lead().State, m.taking(at.drive, at.around))
		if m.sum.LevelKnown && z[2] > bright+unseenLn {
			total -= unseenOdds
		}
	}
	if m.litInTheDark() {
		total -= unseenOdds
	}
	return total
}

// brightest is ln of the brightest reading, lux, and of the brightest but one; without so many that have a level minus infinity.
func (m *Match) brightest() (most, next float64) {
	most, next = math.Inf(-1), math.Inf(-1)
	for k := range m.log.taken {
		if r := &m.log.taken[k].r; r.HasY {
			ln := math.Log(r.Y)
			most, next = max(most, ln), max(next, min(most, ln))
		}
	}
	return most, next
}
