package solve

import (
	"cmp"
	"math"
	"slices"

	"trueup/loop/solve/plan"
)

// visited is the mean of the accepted readings of one stay at a drive.
type visited struct {
	t       taken
	u, v, n float64
}

// bestRead is the drive with the nearest mean reading, if it beats the present
// one by more than noise.
func (m *Match) bestRead() (plan.Plan, bool) {
	var all []visited
	for _, t := range m.log.taken {
		if t.verdict != Accepted {
			continue
		}
		k := len(all) - 1
		if k < 0 || !slices.Equal(all[k].t.r.Drive, t.r.Drive) {
			all = append(all, visited{t: t})
			k++
		}
		all[k].u += t.r.UV.U
		all[k].v += t.r.UV.V
		all[k].n++
	}
	if len(all) == 0 {
		return plan.Plan{}, false
	}
	off := func(s visited) float64 {
		return math.Hypot(s.u/s.n-m.target.UV.U, s.v/s.n-m.target.UV.V)
	}
	uv, _ := m.sum.Mean(m.stand.d)
	here := uv.Dist(m.target.UV)
	b := slices.MinFunc(all, func(a, b visited) int { return cmp.Compare(off(a), off(b)) }) // the first of equals
	noise := m.noise()
	slack := goBack + goBackNoise*math.Sqrt((noise.UU+noise.VV)/2/b.n)
	if slices.Equal(b.t.r.Drive, m.stand.codes) || off(b)+slack > here || !m.allowed(b.t.r.Drive) {
		return plan.Plan{}, false
	}
	return plan.Plan{Codes: b.t.r.Drive, D: b.t.d, Err: off(b)}, true
}
