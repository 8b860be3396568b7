package solve

import (
	"math"

	"trueup/colorcalc"
)

// FarSD is the standard deviation per axis, u'v', of a light that is said to be uv at a drive which may be
// far from all that was read: every story that is still told of the head counts, and where
// the readings have put it farther from its profile than units scatter, the doubt grows by as much. A step
// of a match needs no such care: it is read.
func (m *Match) FarSD(d Drive, uv colorcalc.UV) float64 {
	mean, c := m.sum.Mean(m.fractions(d))
	off := mean.Dist(uv)
	return math.Sqrt((c.UU+c.VV+off*off)/2) * m.sum.Astray()
}
