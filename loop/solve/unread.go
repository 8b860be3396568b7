package solve

import (
	"trueup/colorcalc"
	"trueup/loop/solve/num"
)

// Expect is the light that is expected of the head at a drive at which it was not read, u'v', and how far off that may
// be, standard deviation per axis: every story still told of the head counts. Before the first reading that is
// what its profile and its sisters say.
func (m *Match) Expect(d Drive) (uv colorcalc.UV, sd float64) {
	uv, c := m.expect(m.stand.d, m.fractions(d))
	return uv, c.SD()
}

// expect is the same with its covariance, for a move that begins at another drive; nil: none is made.
func (m *Match) expect(from, to []float64) (colorcalc.UV, num.Cov2) {
	uv, c := m.sum.Mean(to)
	if from != nil {
		q := m.model.MoveNoise(&m.sum.Lead().State, from, to)
		c.UU += q.UU
		c.UV += q.UV
		c.VV += q.VV
	}
	return uv, c
}

// Unread is what the head gives at a drive at which it was not read, by all readings taken elsewhere.
type Unread struct {
	UV colorcalc.UV
	SD float64 // of UV, per axis
	Y  float64 // in the meter's unit; 0 = not known
}

// ExpectLevel is the level that is expected of the head at a drive, ln of the meter's unit, and how far off that may be, standard deviation. It is
// false where the scale is not known yet.
func (m *Match) ExpectLevel(d Drive) (lnY, sd float64, known bool) {
	if !m.sum.LevelKnown {
		return 0, 0, false
	}
	lnY, sd = m.sum.Filter.Level(&m.sum.Lead().State, m.fractions(d))
	return lnY, sd, true
}

// leastFitting readings, with those of earlier visits, must stand behind a head of which an unread light is told.
const leastFitting = 2

// Unread computes the light at a drive far from all that was read, as doubtful as [Match.FarSD] has it,
// and by the way there. It is false of a head that may be another than its profile says: an odd
// one, one of which a fault is suspected, and one that too few readings fitted.
func (m *Match) Unread(d Drive) (Unread, bool) {
	if lead := m.sum.Lead(); m.as != nil || m.suspect != nil || m.fault.cause != NoCause || m.fault.misfits > 0 ||
		lead.Law != 0 || lead.Wide || m.log.accepted() < 1 || m.log.accepted()+m.opt.Earlier < leastFitting {
		return Unread{}, false
	}
	f := m.fractions(d)
	uv, c := m.expect(m.stand.d, f)
	return Unread{UV: uv, SD: c.SD() * m.sum.Astray(), Y: m.levelAt(m.sum.Lead(), f)}, true
}
