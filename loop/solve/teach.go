package solve

import (
	"fmt"
	"math"
)

// Batch is what the units of one profile share: the mean of their emitters (or
// of their factory table) and how far units scatter about it. It is the prior
// of the next unit, and plain data for JSON; kept per profile, the next day
// starts there.
//
// The mean is Gaussian: mean ~ N(Mu, PMu). A unit is N(mean, s times the usual
// scatter of units), with s one of Scatter; which s is right is carried as
// weights, so that a tight batch pays and a loose one does not hurt.
type Batch struct {
	Kind   Kind      `json:"kind"`
	States int       `json:"states"` // shared states
	Units  int       `json:"units"`  // learnt from
	Mu     []float64 `json:"mu"`
	PMu    []float64 `json:"p_mu"`   // States x States
	Weight []float64 `json:"weight"` // of each Scatter
}

// scatters are the multiples of the usual unit covariance that compete.
var scatters = [...]float64{1, 0.3, 0.09}

// typeShare is the part of the prior covariance that the units of a type have
// in common; the rest is between units.
const typeShare = 0.35

const forget = 0.97 // weights pass on to the next unit with this, the rest is spread evenly

// shared is how many leading states units of a type share: emitters with their
// common exponent, or the correction of the mode. Background, scale, offset,
// warmth and clamps belong to one unit and one place.
func (m *Match) shared() int {
	switch k := m.m.(type) {
	case *emitterModel:
		return 3*k.n + 1
	case *planeModel:
		if _, ok := k.law.(*cctLaw); ok {
			return 6
		}
		return k.n
	}
	return 0
}

// NewBatch starts the common knowledge of a profile from the profile alone.
func NewBatch(spec Spec) (*Batch, error) {
	m, err := New(spec, Target{UV: d65}, nil, Options{})
	if err != nil {
		return nil, err
	}
	n, N := m.shared(), m.f.n
	b := &Batch{Kind: spec.Kind, States: n, Mu: append([]float64(nil), m.first.x[:n]...), PMu: make([]float64, n*n)}
	for i := range n {
		for j := range n {
			b.PMu[i*n+j] = typeShare * m.first.p[i*N+j]
		}
	}
	for range scatters {
		b.Weight = append(b.Weight, 1/float64(len(scatters)))
	}
	return b, nil
}

// Prior is what the batch says of a unit not yet seen. An odd unit is still
// expected: the wide hypothesis and the other laws stay as for a fresh one.
func (b *Batch) Prior(spec Spec) (*Prior, error) {
	m, err := New(spec, Target{UV: d65}, nil, Options{})
	if err != nil {
		return nil, err
	}
	n, N := m.shared(), m.f.n
	if b.Kind != spec.Kind || b.States != n || len(b.Mu) != n || len(b.PMu) != n*n || len(b.Weight) != len(scatters) {
		return nil, fmt.Errorf("batch of %d shared states of a %s head does not fit this profile (%d, %s): forget it", b.States, b.Kind, n, spec.Kind)
	}
	base := m.first
	var hyps []*hyp
	main := 0.0
	for _, h := range m.hyps {
		if h.law == base.law && !h.wide {
			main += h.w
			continue
		}
		hyps = append(hyps, h)
	}
	for k, s := range scatters {
		h := base.clone()
		h.w, h.scale = main*b.Weight[k], k
		copy(h.x, b.Mu)
		for i := range n {
			for j := range n {
				h.p[i*N+j] = b.PMu[i*n+j] + s*(1-typeShare)*base.p[i*N+j]
			}
		}
		hyps = append(hyps, h)
	}
	sortHyps(hyps)
	m.hyps = hyps
	p := m.Posterior()
	p.Batch = true
	return &p, nil
}

// Learn takes in what became known of a unit that began from b.Prior. Units
// whose leading hypothesis is another law or a badly wrong profile teach
// nothing: an odd unit does not drag the others along. It reports whether
// anything was learnt.
func (b *Batch) Learn(spec Spec, post Prior) bool {
	n, N := b.States, post.States
	m, err := New(spec, Target{UV: d65}, nil, Options{})
	if err != nil || post.Kind != b.Kind || len(post.Hypotheses) == 0 || m.f.n != N {
		return false
	}
	lead := &post.Hypotheses[0]
	if lead.Wide || lead.Law != 0 || lead.Scale >= len(scatters) || len(lead.Mean) != N || len(lead.Cov) != N*N {
		return false
	}
	var w [len(scatters)]float64
	sum := 0.0
	for _, h := range post.Hypotheses {
		if !h.Wide && h.Law == 0 && h.Scale >= 0 && h.Scale < len(scatters) {
			w[h.Scale] += h.Weight
			sum += h.Weight
		}
	}
	if !(sum > 0.5) {
		return false
	}
	// K = PMu P0^-1; Mu += K (m - Mu); PMu += K (C - P0) K'.
	s := scatters[lead.Scale]
	p0 := make([]float64, n*n)
	for i := range n {
		for j := range n {
			p0[i*n+j] = b.PMu[i*n+j] + s*(1-typeShare)*m.first.p[i*N+j]
		}
	}
	k, ok := gainOf(b.PMu, p0, n)
	if !ok {
		return false
	}
	diff := make([]float64, n*n)
	for i := range n {
		for j := range n {
			diff[i*n+j] = lead.Cov[i*N+j] - p0[i*n+j]
		}
	}
	mu := append([]float64(nil), b.Mu...)
	for i := range n {
		for j := range n {
			mu[i] += k[i*n+j] * (lead.Mean[j] - b.Mu[j])
		}
		if math.IsNaN(mu[i]) || math.IsInf(mu[i], 0) {
			return false
		}
	}
	t := make([]float64, n*n)
	for i := range n {
		for j := range n {
			for l := range n {
				t[i*n+j] += k[i*n+l] * diff[l*n+j]
			}
		}
	}
	for i := range n {
		for j := i; j < n; j++ {
			v := b.PMu[i*n+j]
			for l := range n {
				v += t[i*n+l] * k[j*n+l]
			}
			b.PMu[i*n+j], b.PMu[j*n+i] = v, v
		}
		b.PMu[i*n+i] = math.Max(b.PMu[i*n+i], 1e-12)
	}
	b.Mu = mu
	for i := range w {
		b.Weight[i] = forget*w[i]/sum + (1-forget)/float64(len(scatters))
	}
	b.Units++
	return true
}

// gainOf is a times the inverse of p0, both symmetric n x n, by a Cholesky
// factor of p0.
func gainOf(a, p0 []float64, n int) ([]float64, bool) {
	l := make([]float64, n*n)
	cholesky(p0, l, n)
	for i := range n {
		if !(l[i*n+i] > 0) {
			return nil, false
		}
	}
	k := make([]float64, n*n)
	y := make([]float64, n)
	for r := range n { // solve p0 x = a's row
		for i := range n {
			s := a[r*n+i]
			for j := range i {
				s -= l[i*n+j] * y[j]
			}
			y[i] = s / l[i*n+i]
		}
		for i := n - 1; i >= 0; i-- {
			s := y[i]
			for j := i + 1; j < n; j++ {
				s -= l[j*n+i] * k[r*n+j]
			}
			k[r*n+i] = s / l[i*n+i]
		}
	}
	return k, true
}
