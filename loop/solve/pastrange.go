package solve

import (
	"math"
	"slices"

	"trueup/colorcalc"
	"trueup/loop/solve/num"
)

// An engine that is asked for x and y beyond what it reaches stands still at the edge of that. To its law each step without an answer is one more that the lamp
// deviates by, and the next goes farther out: the law always sees a way. So once its last steps had no answer, though those before had, the search goes on by what was read.

// Figures of steps without an answer.
const (
	pastMoves = 3    // of them, the last ones,
	pastSeen  = 20.0 // times the meter's noise that they go, squared,
	pastTols  = 3.0  // and tolerances
	pastPart  = 0.04 // of that squared, that the light does at the most, but for noise,
	pastNoise = 2.0  // and that, squared
)

// settings are readings of one setting in a row: their sum and count.
type settings struct {
	d  []float64
	uv colorcalc.UV
	n  float64
}

// pastRange tells whether the last steps of a mode of x and y had no answer.
func (m *Match) pastRange() bool {
	if m.spec.Kind != XY {
		return false
	}
	var last []settings // from the last one back
	for k := len(m.log.taken) - 1; k >= 0 && len(last) <= pastMoves+1; k-- {
		t := &m.log.taken[k]
		if n := len(last); n == 0 || !slices.Equal(last[n-1].d, t.d) {
			last = append(last, settings{d: t.d})
		}
		s := &last[len(last)-1]
		s.uv.U, s.uv.V, s.n = s.uv.U+t.r.UV.U, s.uv.V+t.r.UV.V, s.n+1
	}
	if len(last) <= pastMoves {
		return false
	}
	last = last[:pastMoves+1]
	o := m.noiseAlone()
	path, done, along, noise := 0.0, 0.0, 0.0, 0.0
	for k := range pastMoves {
		b, a := &last[k], &last[k+1]
		p, q := m.sum.Filter.Predict(&m.sum.Nominal.State, a.d), m.sum.Filter.Predict(&m.sum.Nominal.State, b.d)
		du, dv := b.uv.U/b.n-a.uv.U/a.n, b.uv.V/b.n-a.uv.V/a.n
		path += (q[0]-p[0])*(q[0]-p[0]) + (q[1]-p[1])*(q[1]-p[1])
		along += (q[0]-p[0])*du + (q[1]-p[1])*dv
		done += du*du + dv*dv
		noise += (o.UU + o.VV) * (1/a.n + 1/b.n)
	}
	least := pastTols * m.target.Tol
	return path > max(pastSeen*noise, least*least) && done < max(pastNoise*noise, pastPart*path) && along < math.Sqrt(pastPart)*path
}

// noiseAlone is the covariance of a reading by the meter's noise alone, whatever the head's readings scatter by: a light that stands still scatters no more.
func (m *Match) noiseAlone() num.Cov2 {
	c, k := m.noise(), m.scatter()
	return num.Cov2{UU: c.UU / (k * k), VV: c.VV / (k * k)}
}
