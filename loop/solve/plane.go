package solve

import (
	"math"
)

// planeModel is a mode whose colour is set by two parameters (or one): the
// ideal law of the mode with a learnt local correction. The law itself is a
// planeLaw; what they share is here.
type planeModel struct {
	law    planeLaw
	dim0   int
	dimmer Curve
	n      int // states of the law; then g, b (2), kd
	steps  []float64
}

// planeLaw is the ideal law of a mode and its correction states.
type planeLaw interface {
	states() int
	channels() []int // one or two
	// at gives u'v' at drives a and b (fractions), in variant v.
	at(v int, x []float64, a, b float64) (u, w float64)
	mean() []float64
	sd(wide bool) []float64
	bound(x []float64)
	variants() int
	// asked is the unclamped ideal: how far a move goes on the scales.
	asked(a, b float64) (u, w float64)
	bend(a, b float64) float64 // doubt of a move to there, as a part of the way
}

const planeExtra = 4

func (m *planeModel) dim() (n, b, g int) { return m.n + planeExtra, m.n + 1, m.n }

func newPlaneModel(law planeLaw, s *Spec) *planeModel {
	m := &planeModel{law: law, dim0: -1, n: law.states()}
	for _, sd := range law.sd(false) {
		m.steps = append(m.steps, sd/50)
	}
	if s.Dimmer != nil {
		m.dim0, m.dimmer = s.Dimmer.Channel, s.Dimmer.Curve
	}
	return m
}

// pair is the two parameters of a drive; the second is 0 where there is none.
func (m *planeModel) pair(d []float64) (a, b float64) {
	c := m.law.channels()
	if len(c) > 1 {
		b = d[c[1]]
	}
	return d[c[0]], b
}

func (m *planeModel) colour(v int, x, d []float64) (u, w float64) {
	a, b := m.pair(d)
	return m.law.at(v, x, a, b)
}

// asked is the u'v' that the scales ask for at drive d.
func (m *planeModel) asked(d []float64) (u, v float64) { return m.law.asked(m.pair(d)) }

func (m *planeModel) predict(law int, x, d []float64, z *[3]float64, jac []float64) {
	n := m.n
	u, w := m.colour(law, x, d)
	f, df := 1.0, 0.0
	if m.dim0 >= 0 {
		f, df = response(m.dimmer, d[m.dim0], x[n+3])
	}
	z[0], z[1], z[2] = u+x[n+1], w+x[n+2], x[n]+math.Log(math.Max(f, 1e-6))
	if jac == nil {
		return
	}
	clear(jac)
	N := n + planeExtra
	for i := range n { // central differences: the laws are smooth and cheap
		was, h := x[i], m.steps[i]
		x[i] = was + h
		a, b := m.colour(law, x, d)
		x[i] = was - h
		c, e := m.colour(law, x, d)
		x[i] = was
		jac[i], jac[N+i] = (a-c)/(2*h), (b-e)/(2*h)
	}
	jac[n+1], jac[N+n+2], jac[2*N+n], jac[2*N+n+3] = 1, 1, 1, df
}

func (m *planeModel) sane(x []float64) {
	m.law.bound(x[:m.n])
	x[m.n+3] = clamp(x[m.n+3], -0.7, 0.7)
}

const (
	planeDrift  = 2e-5 // u'v' offset per square root of a second
	planeMove   = 0.04 // of the way, as u'v' offset
	xyMove      = 0.07 // engines of four and more emitters change their mixture on the way
	edgeMove    = 12   // times as much again at an end of a colour temperature mode, where tables give way
	edgeWidth   = 0.05 // of the range, over which that fades
	planeWide   = 3.75 // times as much, for a badly wrong profile
	planeScaleY = 0.02
)

func (m *planeModel) drift(h *hyp, dt float64, _ []float64) {
	if !(dt > 0) {
		return
	}
	N := m.n + planeExtra
	q := planeDrift * planeDrift * dt
	h.p[(m.n+1)*N+m.n+1] += q
	h.p[(m.n+2)*N+m.n+2] += q
	h.p[m.n*N+m.n] += driftG * driftG
}

// doubt grows with the way: what the law predicts or what the scales say,
// whichever is longer, for beyond a clamp the engine may do as it likes.
func (m *planeModel) doubt(h *hyp, from, to []float64) cov2 {
	a, b := m.colour(h.law, h.x, from)
	c, d := m.colour(h.law, h.x, to)
	k := m.law.bend(m.pair(to))
	if h.wide {
		k *= planeWide
	}
	way := (a-c)*(a-c) + (b-d)*(b-d)
	a, b = m.asked(from)
	c, d = m.asked(to)
	q := k * k * math.Max(way, (a-c)*(a-c)+(b-d)*(b-d))
	if m.dim0 >= 0 {
		q += dimShift(m.dimmer, from[m.dim0], to[m.dim0])
	}
	return cov2{q, 0, q}
}

func (m *planeModel) moved(h *hyp, from, to []float64) {
	N := m.n + planeExtra
	q := m.doubt(h, from, to)
	h.p[(m.n+1)*N+m.n+1] += q.uu
	h.p[(m.n+2)*N+m.n+2] += q.vv
	a, b := m.colour(h.law, h.x, from)
	c, d := m.colour(h.law, h.x, to)
	s := planeScaleY + 4*math.Min(math.Hypot(a-c, b-d), 0.2)
	h.p[m.n*N+m.n] += s * s
}

func (m *planeModel) prior() []*hyp {
	N, b, g := m.dim()
	one := func(w float64, v int, wide bool, scale int) *hyp {
		k := 1.0
		if scale == 1 && !wide {
			k = tightScale
		}
		h := &hyp{w: w, law: v, wide: wide, scale: scale, x: make([]float64, N), p: make([]float64, N*N)}
		copy(h.x, m.law.mean())
		for i, s := range m.law.sd(wide) {
			h.p[i*N+i] = k * s * s
		}
		h.p[g*N+g] = sdScale * sdScale
		h.p[b*N+b], h.p[(b+1)*N+b+1] = 0.0012*0.0012, 0.0012*0.0012
		h.p[(b+2)*N+b+2] = sdDim * sdDim
		return h
	}
	rest := 1 - wideWeight - float64(m.law.variants()-1)*0.02
	out := []*hyp{one(rest/2, 0, false, 0), one(rest/2, 0, false, 1), one(wideWeight, 0, true, 0)}
	for v := 1; v < m.law.variants(); v++ {
		out = append(out, one(0.02, v, false, 0))
	}
	return out
}
