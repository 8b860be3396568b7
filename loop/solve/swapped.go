package solve

import (
	"math"
	"slices"

	"trueup/loop/solve/estimate"
)

// swapped is ln of the evidence of the two channels that explain the readings best when they
// change places, less what choosing among all pairs is worth.
func (m *Match) swapped() (best float64, i, j int) {
	best = math.Inf(-1)
	n := m.model.Emitters()
	pairs := n * (n - 1) / 2
	for a := range n {
		for b := a + 1; b < n; b++ {
			if ll := m.replay(a, b); ll > best {
				best, i, j = ll, a, b
			}
		}
	}
	return best - math.Log(float64(max(pairs, 1))), i, j
}

// twoDrives reports whether readings at two drives or more were taken, on this visit or one before.
func (m *Match) twoDrives() bool {
	if len(m.log.taken) > 0 && m.opt.Past.elsewhere(m.log.taken[0].r.Drive) {
		return true
	}
	for k := range m.log.taken {
		if !slices.Equal(m.log.taken[k].r.Drive, m.log.taken[0].r.Drive) {
			return true
		}
	}
	return len(m.log.taken) > 0 && slices.ContainsFunc(m.log.unseen, func(d Drive) bool { return !slices.Equal(d, m.log.taken[0].r.Drive) })
}

// replay runs the readings through the profile's own component with channels a
// and b exchanged and returns the evidence.
func (m *Match) replay(a, b int) float64 {
	h := m.sum.Nominal.Clone()
	total := 0.0
	var last []float64
	for k := range m.log.taken {
		t := &m.log.taken[k]
		d := slices.Clone(t.d)
		d[a], d[b] = d[b], d[a]
		o := m.obs(&t.r)
		if last == nil {
			if o.Axes == 3 {
				h.X[m.model.Dim().G] += o.Z[2] - m.sum.Filter.Predict(&h.State, d)[2]
			}
		} else if !slices.Equal(last, d) {
			m.model.Move(&h.State, last, d)
		}
		last = d
		ll, ok := m.sum.Filter.Update(h, d, &o)
		if !ok || ll < estimate.OutlierEvidence(&o) && t.verdict == Accepted {
			return math.Inf(-1) // an exchange has to explain everything
		}
		total += ll
	}
	return total
}
