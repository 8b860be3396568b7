package estimate

import (
	"fmt"
	"math"
	"slices"

	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
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
	Kind   model.Kind `json:"kind"`
	States int        `json:"states"` // shared states
	Units  int        `json:"units"`  // learnt from
	Mu     []float64  `json:"mu"`
	PMu    []float64  `json:"p_mu"`   // States x States
	Weight []float64  `json:"weight"` // of each Scatter
}

// newSum is what the profile of a spec alone says.
func newSum(spec *model.Spec) (*Sum, error) {
	if err := spec.Check(); err != nil {
		return nil, err
	}
	return NewSum(model.New(spec)), nil
}

// NewBatch starts the common knowledge of a profile from the profile alone.
func NewBatch(spec model.Spec) (*Batch, error) {
	s, err := newSum(&spec)
	if err != nil {
		return nil, err
	}
	n, N := s.model.Shared(), s.dim.N
	b := &Batch{Kind: spec.Kind, States: n, Mu: slices.Clone(s.Nominal.X[:n]), PMu: make([]float64, n*n)}
	for i := range n {
		for j := range n {
			b.PMu[i*n+j] = typeShare * s.Nominal.P[i*N+j]
		}
	}
	for range scatters {
		b.Weight = append(b.Weight, 1/float64(len(scatters)))
	}
	return b, nil
}

// Prior is what the batch says of a unit not yet seen. An odd unit is still
// expected: the wide component and the other laws stay as for a fresh one.
func (b *Batch) Prior(spec model.Spec) (*Prior, error) {
	s, err := newSum(&spec)
	if err != nil {
		return nil, err
	}
	n := s.model.Shared()
	if b.Kind != spec.Kind || b.States != n || len(b.Mu) != n || len(b.PMu) != n*n || len(b.Weight) != len(scatters) {
		return nil, fmt.Errorf("batch of %d shared states of a %s head does not fit this profile (%d, %s): forget it", b.States, b.Kind, n, spec.Kind)
	}
	base := s.Nominal
	var all []*Component
	main := 0.0
	for _, h := range s.Components {
		if h.Law == base.Law && !h.Wide {
			main += h.Weight
			continue
		}
		all = append(all, h)
	}
	for k := range scatters {
		h := base.Clone()
		h.Weight, h.Scale = main*b.Weight[k], k
		copy(h.X, b.Mu)
		b.unitCov(k, base.P, s.dim.N, func(i, j int, v float64) { h.P[i*s.dim.N+j] = v })
		all = append(all, h)
	}
	sortComponents(all)
	s.Components = all
	p := s.Posterior(spec.Kind)
	p.Batch = true
	return &p, nil
}

// unitCov gives the covariance of the shared states of a unit that scatters about
// the mean of its type by scatters[k]: PMu + s (1 - typeShare) P0, where P0 is that
// of the profile alone, N x N.
func (b *Batch) unitCov(k int, p0 []float64, N int, set func(i, j int, v float64)) {
	n := b.States
	for i := range n {
		for j := range n {
			set(i, j, b.PMu[i*n+j]+scatters[k]*(1-typeShare)*p0[i*N+j])
		}
	}
}

// Learn takes in what became known of a unit that began from b.Prior. Units
// whose leading hypothesis is another law or a badly wrong profile teach
// nothing: an odd unit does not drag the others along. It reports whether
// anything was learnt.
func (b *Batch) Learn(spec model.Spec, post Prior) bool {
	n, N := b.States, post.States
	fresh, err := newSum(&spec)
	if err != nil || post.Kind != b.Kind || len(post.Hypotheses) == 0 || fresh.dim.N != N {
		return false
	}
	lead := &post.Hypotheses[0]
	if lead.Wide || lead.Law != 0 || lead.Scale < 0 || lead.Scale >= len(scatters) || len(lead.Mean) != N || len(lead.Cov) != N*N {
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
	if !(sum > oddUnit) {
		return false
	}
	// K = PMu P0^-1; Mu += K (m - Mu); PMu += K (C - P0) K'.
	p0 := make([]float64, n*n)
	b.unitCov(lead.Scale, fresh.Nominal.P, N, func(i, j int, v float64) { p0[i*n+j] = v })
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
		b.PMu[i*n+i] = math.Max(b.PMu[i*n+i], leastBatch)
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
	if !num.Cholesky(p0, l, n) {
		return nil, false
	}
	k := make([]float64, n*n)
	for r := range n { // solve p0 x = a's row
		row := k[r*n : r*n+n]
		copy(row, a[r*n:r*n+n])
		num.Forward(l, row, n)
		num.Backward(l, row, n)
	}
	return k, true
}
