package solve

import (
	"math"
	"slices"

	"trueup/loop/solve/estimate"
	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
	"trueup/loop/solve/plan"
)

// edge is what a kind of mode does where its law does not lead to the target.
type edge interface {
	// proceed decides beyond landing and budget, on a plan of the law.
	proceed(m *Match, pl plan.Plan, p float64) Decision
	// mustAnswer reports whether a lamp that does not answer is at fault: past its
	// range an engine is silent by right.
	mustAnswer(m *Match) bool
	// trusted is the process that is asked beside the law, nil where the law leads.
	trusted(m *Match) *estimate.Process
}

// regret is the edge of emitter modes: draws of what might be true are asked how
// much nearer they could come.
type regret struct{}

func (regret) mustAnswer(*Match) bool { return true }

func (regret) trusted(*Match) *estimate.Process { return nil }

// proceed decides where the model sees no drive for the target, or one next to the dark alone. "Nearest" is
// said only when most of what might be true agrees that moving on gains no more
// than a tolerance.
func (r regret) proceed(m *Match, pl plan.Plan, p float64) Decision {
	most, next := m.brightest()
	switch {
	case pl.Reaches(m.target.Tol) && !m.dims(pl, unseenLn, next): // one reading may be wild, and none does away with a plan
		return m.weigh(pl, p)
	case m.dims(pl, unseenLn, most):
		return m.declare(p)
	}
	if m.sum.Accepted() == 0 {
		if slices.Equal(pl.Codes, m.stand.codes) {
			return m.again(p, "at the nearest point, but the last reading did not fit: reading again")
		}
		return m.moveTo(pl, "to the nearest reachable point")
	}
	share, worst := r.draw(m)
	if share >= regretShare {
		return m.declare(p)
	}
	if !slices.Equal(pl.Codes, m.stand.codes) {
		z, _ := m.sum.Filter.Spread(&m.sum.Lead().State, m.stand.d)
		here := math.Hypot(z[0]-m.target.UV.U, z[1]-m.target.UV.V)
		if here-pl.Err > edgeGain*m.target.Tol {
			return m.moveTo(pl, "to the nearest reachable point")
		}
	}
	if worst.Codes != nil && !m.dims(worst, fainterLn, most) && m.search.count[looked] < edgeVisits && !slices.Equal(worst.Codes, m.stand.codes) {
		m.search.on(looked)
		return m.moveTo(worst, "it is not certain which point is nearest: trying the other")
	}
	m.search.on(stayed)
	if m.search.count[stayed] >= edgeIdle {
		return m.declare(p)
	}
	return m.again(p, "one more reading to be sure that nothing nearer is reachable")
}

// dims tells whether a plan comes nearer only by giving no light, which is ln least of the brightest: then what
// stray light there is has the colour, not the lamp. It is held against a bright reading, its ln, not against where the lamp stands: two steps may
// lead into the dark as well as one.
func (m *Match) dims(pl plan.Plan, least, bright float64) bool {
	if !m.sum.LevelKnown {
		return false
	}
	h := &m.sum.Lead().State
	bright = max(m.sum.Filter.Predict(h, m.stand.d)[2], bright)
	if m.target.Y > 0 { // a low level was asked for
		bright = min(bright, math.Log(m.target.Y))
	}
	return m.sum.Filter.Predict(h, pl.D)[2] < bright+least
}

// draw draws what might be true and asks of each how much nearer it could
// come. It returns the share that could neither land nor gain more than a tolerance, and the
// plan of the draw that could gain most.
func (regret) draw(m *Match) (share float64, worst plan.Plan) {
	n := m.model.Dim().N
	l := make([]float64, n*n)
	x := make([]float64, n)
	most := 0.0
	content, done := 0, 0
	components := systematic{all: m.sum.Components, total: m.sum.Accepted()}
	var have *estimate.Component
	for k := range regretDraws {
		h := components.next((float64(k) + 0.5) / regretDraws)
		if h == nil {
			break
		}
		if h != have {
			num.CholeskyRank(h.P, l, n) // a direction that is known exactly is not drawn
			have = h
		}
		m.drawState(h, l, x)
		now := m.sum.Filter.Predict(&model.State{Law: h.Law, X: x}, m.stand.d)
		here := math.Hypot(now[0]-m.target.UV.U, now[1]-m.target.UV.V)
		done++
		if here <= m.target.Tol {
			content++
			continue
		}
		pl := m.planner.Fresh(h.Law, x, m.stand.d, m.goal(x), m.target.Tol)
		gain := here - pl.Err
		if lands := pl.Err <= edgeLands*m.target.Tol && gain > edgeGain*m.target.Tol; !lands && gain <= m.target.Tol {
			content++
		}
		if gain > most {
			most, worst = gain, pl
		}
	}
	if done == 0 {
		return 0, worst
	}
	return float64(content) / float64(done), worst
}

// drawState fills x = mean + L z, z standard normal, for the Cholesky factor L of
// the covariance of h.
func (m *Match) drawState(h *estimate.Component, l, x []float64) {
	n := len(x)
	var z [model.MaxStates]float64
	for i := range n {
		z[i] = m.rng.NormFloat64()
	}
	for i := range n {
		x[i] = h.X[i]
		for j := 0; j <= i; j++ {
			x[i] += l[i*n+j] * z[j]
		}
	}
	m.model.Bound(x)
}

// systematic draws components by weight, among those that accepted a reading
// here, at ascending shares (systematic resampling: Kitagawa 1996).
type systematic struct {
	all   []*estimate.Component
	total float64 // weight of those that accepted
	at    int
	below float64 // weight before at
}

func (s *systematic) next(share float64) *estimate.Component {
	u := share * s.total
	for s.at < len(s.all) && (s.all[s.at].Hits == 0 || s.below+s.all[s.at].Weight < u) {
		if s.all[s.at].Hits > 0 {
			s.below += s.all[s.at].Weight
		}
		s.at++
	}
	if s.at >= len(s.all) {
		return nil
	}
	return s.all[s.at]
}
