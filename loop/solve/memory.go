package solve

import (
	"math"
	"slices"

	"trueup/colorcalc"
)

// A mode with two parameters is driven by the lamp's own computer, and that may
// bend and jump where no law says so: tables with corners, mixtures that change
// emitters, ends that give way. The local offset of a hypothesis knows only the
// present drive. A memory knows all drives that were read: the law as it was
// before the first reading, and what the readings lie beside it, interpolated by
// a Gaussian process (Rasmussen and Williams 2006, algorithm 2.1) in the u'v'
// that the scales ask for: an offset, a gain, and a bend of short range.
type memory struct {
	pm    *planeModel
	h     *hyp
	looks []look
	aim   colorcalc.UV
	bend  float64      // variance of the bend, u' and v' each
	l     []float64    // lower Cholesky factor of the covariance of the looks
	a     [2][]float64 // its inverse times what the looks lie beside the law
}

// look is what was read at one drive.
type look struct {
	drive Drive
	d     []float64
	ask   [2]float64 // u'v' that the scales ask for
	z     [2]float64 // mean reading
	r     float64    // variance of the mean, per axis
	n     float64
	sure  bool // a reading here was accepted
}

// Figures of the process, standard deviations.
const (
	rememberOffset = 0.008 // u'v'
	rememberGain   = 0.08
	bendSize       = 0.004 // u'v'
	bendWay        = 0.025 // u'v' over which the bend forgets
	unsureLook     = 0.01  // u'v' of a reading that did not fit and was not repeated
)

// likeness is the covariance of what two drives lie beside the law, by what they
// ask for.
func (e *memory) likeness(a, b [2]float64) float64 {
	z := math.Sqrt(3) * math.Hypot(a[0]-b[0], a[1]-b[1]) / bendWay // Matérn, order 3/2
	c := [2]float64{d65.U, d65.V}
	dot := (a[0]-c[0])*(b[0]-c[0]) + (a[1]-c[1])*(b[1]-c[1])
	return rememberOffset*rememberOffset + rememberGain*rememberGain*dot + e.bend*(1+z)*math.Exp(-z)
}

// looks gathers the readings by drive; where one was accepted, those that were
// not do not count.
func (m *Match) looks(pm *planeModel) (out []look) {
	for i := range m.taken {
		t := &m.taken[i]
		k := slices.IndexFunc(out, func(l look) bool { return slices.Equal(l.drive, t.r.Drive) })
		if k < 0 {
			l := look{drive: t.r.Drive, d: t.d}
			l.ask[0], l.ask[1] = pm.asked(t.d)
			out = append(out, l)
			k = len(out) - 1
		}
		o := m.obs(&t.r)
		l := &out[k]
		good := t.verdict == Accepted
		if l.sure && !good {
			continue
		}
		if good && !l.sure {
			l.n, l.sure = 0, true
		}
		l.z[0] = (l.n*l.z[0] + o.z[0]) / (l.n + 1)
		l.z[1] = (l.n*l.z[1] + o.z[1]) / (l.n + 1)
		l.n++
		l.r = (o.r.uu + o.r.vv) / 2 / l.n
		if !l.sure {
			l.r += unsureLook * unsureLook
		}
	}
	return out
}

// recall builds the memory of a mode with two parameters. The size of the bend is
// the likeliest of three.
func (m *Match) recall() *memory {
	pm := m.m.(*planeModel)
	looks := m.looks(pm)
	var best *memory
	top := math.Inf(-1)
	for k := range 3 {
		e, ll := m.recallWith(pm, looks, bendSize*bendSize*float64(int(1)<<(2*k)))
		if ll -= float64(k); ll > top {
			top, best = ll, e
		}
	}
	return best
}

func (m *Match) recallWith(pm *planeModel, looks []look, bend float64) (e *memory, ll float64) {
	n := len(looks)
	e = &memory{pm: pm, h: m.first, looks: looks, aim: m.target.UV, bend: bend, l: make([]float64, n*n)}
	p := make([]float64, n*n)
	for i := range n {
		for k := range n {
			p[i*n+k] = e.likeness(looks[i].ask, looks[k].ask)
		}
		p[i*n+i] += looks[i].r
	}
	cholesky(p, e.l, n)
	for k := range 2 {
		e.a[k] = make([]float64, n)
		for i := range looks {
			u, v := e.pm.colour(e.h.law, e.h.x, looks[i].d)
			e.a[k][i] = looks[i].z[k] - [2]float64{u, v}[k]
		}
		forward(e.l, e.a[k], n)
		for i, v := range e.a[k] {
			ll -= v*v/2 + math.Log(math.Max(e.l[i*n+i], 1e-9))
		}
		backward(e.l, e.a[k], n)
	}
	return e, ll
}

// at predicts u'v' at drive d, and the variance per axis.
func (e *memory) at(d []float64) (u, v, variance float64) {
	n := len(e.looks)
	u, v = e.pm.colour(e.h.law, e.h.x, d)
	var ask [2]float64
	ask[0], ask[1] = e.pm.asked(d)
	var buf [64]float64
	k := buf[:0]
	for i := range e.looks {
		c := e.likeness(ask, e.looks[i].ask)
		k = append(k, c)
		u += c * e.a[0][i]
		v += c * e.a[1][i]
	}
	forward(e.l, k, n)
	variance = e.likeness(ask, ask)
	for _, c := range k {
		variance -= c * c
	}
	return u, v, math.Max(variance, 1e-10)
}

// off is how far from the target the light is remembered at drive d, and the
// standard deviation per axis.
func (e *memory) off(d []float64) (dist, sd float64) {
	u, v, s2 := e.at(d)
	return math.Hypot(u-e.aim.U, v-e.aim.V), math.Sqrt(s2)
}

// best is the look that is remembered nearest to the target, and how far off.
func (e *memory) best() (l look, dist float64) {
	dist = math.Inf(1)
	for i := range e.looks {
		if d, _ := e.off(e.looks[i].d); d < dist {
			l, dist = e.looks[i], d
		}
	}
	return l, dist
}

// forward solves L x = b in place, backward L' x = b; columns without a pivot
// count as nothing.
func forward(l, b []float64, n int) {
	for i := range n {
		s := b[i]
		for k := range i {
			s -= l[i*n+k] * b[k]
		}
		if b[i] = 0; l[i*n+i] > 0 {
			b[i] = s / l[i*n+i]
		}
	}
}

func backward(l, b []float64, n int) {
	for i := n - 1; i >= 0; i-- {
		s := b[i]
		for k := i + 1; k < n; k++ {
			s -= l[k*n+i] * b[k]
		}
		if b[i] = 0; l[i*n+i] > 0 {
			b[i] = s / l[i*n+i]
		}
	}
}

// restore puts what is remembered of drive d into the local offset of h.
func (m *Match) restore(h *hyp, mem *memory, d []float64) {
	u, v, s2 := mem.at(d)
	a, c := mem.pm.colour(h.law, h.x, d)
	n, b := m.f.n, m.f.b
	h.x[b], h.x[b+1] = u-a, v-c
	for _, i := range [...]int{b, b + 1} {
		for k := range n {
			h.p[i*n+k], h.p[k*n+i] = 0, 0
		}
		h.p[i*n+i] = s2
	}
}
