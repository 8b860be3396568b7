package solve

import (
	"math"
	"slices"
)

// Figures of the test that a target is out of reach.
const (
	regretDraws = 32
	regretShare = 0.92
	edgeVisits  = 2 // of the codes that a doubting draw would rather try
	edgeIdle    = 4 // readings at the nearest point after which it is declared
	goBack      = 0.0005
)

// atEdge decides where the model sees no drive for the target. "Nearest" is
// said only when most of what might be true agrees that moving on gains no more
// than a tolerance.
func (m *Match) atEdge(pl plan, p float64) Decision {
	if _, ok := m.m.(*planeModel); ok {
		return m.seek(p)
	}
	if m.hitsHere() == 0 {
		if slices.Equal(pl.drive, m.drive) {
			return m.again(p, "the nearest point by the model: read it again, the last reading did not fit")
		}
		return m.moveTo(pl, "to the nearest point by the model")
	}
	share, worst := m.regret()
	if share >= regretShare {
		return m.declare(p)
	}
	if !slices.Equal(pl.drive, m.drive) {
		z, _ := m.f.spread(m.hyps[0], m.now)
		here := math.Hypot(z[0]-m.target.UV.U, z[1]-m.target.UV.V)
		if here-pl.err > 0.2*m.target.Tol {
			return m.moveTo(pl, "to the nearest point by the model")
		}
	}
	if worst.drive != nil && m.visits < edgeVisits && !slices.Equal(worst.drive, m.drive) {
		m.visits++
		return m.moveTo(worst, "the model is not sure which point is nearest: a look at the other")
	}
	m.idle++
	if m.idle >= edgeIdle {
		return m.declare(p)
	}
	return m.again(p, "one more reading to be sure that nothing nearer is left")
}

// regret draws what might be true and asks of each how much nearer it could
// come. It returns the share that could gain no more than a tolerance, and the
// plan of the draw that could gain most.
func (m *Match) regret() (share float64, worst plan) {
	n := m.f.n
	l := make([]float64, n*n)
	x := make([]float64, n)
	most := 0.0
	ok := 0
	done := 0
	acc := m.hitsHere()
	next := 0.0
	hi := 0
	var have *hyp
	for k := range regretDraws {
		// systematic draw of the hypothesis, by weight among those that accepted
		u := (float64(k) + 0.5) / regretDraws * acc
		for hi < len(m.hyps) && (m.hyps[hi].hits == 0 || next+m.hyps[hi].w < u) {
			if m.hyps[hi].hits > 0 {
				next += m.hyps[hi].w
			}
			hi++
		}
		if hi >= len(m.hyps) {
			break
		}
		h := m.hyps[hi]
		if h != have {
			cholesky(h.p, l, n)
			have = h
		}
		var z [maxStates]float64
		for i := range n {
			z[i] = m.rng.NormFloat64()
		}
		for i := range n {
			x[i] = h.x[i]
			for j := 0; j <= i; j++ {
				x[i] += l[i*n+j] * z[j]
			}
		}
		m.m.sane(x)
		var now [3]float64
		m.m.predict(h.law, x, m.now, &now, nil)
		here := math.Hypot(now[0]-m.target.UV.U, now[1]-m.target.UV.V)
		done++
		if here <= m.target.Tol {
			ok++
			continue
		}
		pl := m.dry(h.law, x)
		gain := here - pl.err
		if gain <= m.target.Tol {
			ok++
		}
		if gain > most {
			most, worst = gain, pl
		}
	}
	if done == 0 {
		return 0, worst
	}
	return float64(ok) / float64(done), worst
}

// dry plans for a drawn state without changing what the solver remembers.
func (m *Match) dry(law int, x []float64) plan {
	t := m.goal(x)
	if e, ok := m.plan.(*emitterSolver); ok {
		c := *e
		c.held = false
		pl, _ := c.solve(law, x, m.now, t, m.target.Tol, true)
		return pl
	}
	pl, _ := m.plan.solve(law, x, m.now, t, m.target.Tol, true)
	return pl
}
