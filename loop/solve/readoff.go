package solve

import (
	"math"
	"slices"

	"trueup/colorcalc"
)

// readOff tells whether the accepted readings of the present stay lie further from the target than the tolerance and their noise together
// allow, whatever the estimate makes of them. It may hold older readings for as good: of a lamp that was cold then, or beside another light.
func (m *Match) readOff() bool {
	var u, v, variance float64
	n := 0.0
	for k := len(m.log.taken) - 1; k >= 0 && slices.Equal(m.log.taken[k].r.Drive, m.stand.codes); k-- {
		t := &m.log.taken[k]
		if t.verdict != Accepted {
			continue
		}
		r := m.obs(&t.r).R
		u, v, variance, n = u+t.r.UV.U, v+t.r.UV.V, variance+(r.UU+r.VV)/2, n+1
	}
	if n == 0 {
		return false
	}
	off := colorcalc.UV{U: u / n, V: v / n}.Dist(m.target.UV)
	return off > m.target.Tol+ratio95*math.Sqrt(variance/n/n+m.target.SigmaUV*m.target.SigmaUV)
}
