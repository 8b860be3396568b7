package solve

import (
	"math"
	"slices"
)

// Unseen takes in that readings in a row saw no light of the head at a drive, where some was to be
// expected. It reports whether that tells what is wrong with the head: then the match goes on from there.
func (m *Match) Unseen(d Drive) bool {
	if len(m.log.taken) == 0 || len(d) != len(m.spec.Channels) || len(m.log.unseen) >= mostUnseen {
		return false
	}
	m.log.unseen = append(m.log.unseen, slices.Clone(d))
	m.stand.underWay = false
	m.arrive(d, m.fractions(d))
	m.fault.worst = max(m.fault.worst, 2*rivalFrom) // nothing fits worse than no light at all
	return m.compete(false) && !m.fault.ends()
}

// HasUnseen tells whether the match knows of a drive at which no light was seen.
func (m *Match) HasUnseen() bool { return len(m.log.unseen) > 0 }

// evidence is ln of the evidence of all readings, and of the drives at which no light was seen: each
// counts as an outlier that repeats itself, unless little light was to be expected beside the brightest reading.
func (m *Match) evidence() float64 {
	total := m.sum.LogEvidence
	bright, _ := m.brightest()
	for _, d := range m.log.unseen {
		z := m.sum.Filter.Predict(&m.sum.Lead().State, m.fractions(d))
		if m.sum.LevelKnown && z[2] > bright+unseenLn {
			total -= unseenOdds
		}
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
