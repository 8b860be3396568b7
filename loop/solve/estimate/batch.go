package estimate

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"trueup/loop/solve/model"
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
	return NewSum(model.New(spec), nil), nil
}

// NewBatch starts the common knowledge of a profile from the profile alone.
func NewBatch(spec model.Spec) (*Batch, error) {
	s, err := newSum(&spec)
	if err != nil {
		return nil, err
	}
	n := s.model.Shared()
	b := &Batch{Kind: spec.Kind, States: n, Mu: slices.Clone(s.Nominal.X[:n]), PMu: make([]float64, n*n)}
	b.pMu().ScaleSym(typeShare, leading(s.Nominal.P, s.dim.N, n))
	for range scatters {
		b.Weight = append(b.Weight, 1/float64(len(scatters)))
	}
	return b, nil
}

// Clone is a batch of its own that knows the same.
func (b *Batch) Clone() *Batch {
	c := *b
	c.Mu, c.PMu, c.Weight = slices.Clone(b.Mu), slices.Clone(b.PMu), slices.Clone(b.Weight)
	return &c
}

// fits reports whether a batch, which may come from a file, is of such a head.
func (b *Batch) fits(kind model.Kind, n int) bool {
	return b.Kind == kind && b.States == n && len(b.Mu) == n && len(b.PMu) == n*n && len(b.Weight) == len(scatters)
}

// pMu is PMu as a matrix; it shares the numbers.
func (b *Batch) pMu() *mat.SymDense { return mat.NewSymDense(b.States, b.PMu) }

// leading is a copy of the leading n x n block of a covariance p, N x N.
func leading(p []float64, N, n int) *mat.SymDense {
	all := mat.NewSymDense(N, p)
	out := mat.NewSymDense(n, nil)
	out.CopySym(all.SliceSym(0, n))
	return out
}

// unitCov is the covariance of the shared states of a unit that scatters about
// the mean of its type by s: P0 = PMu + s (1 - typeShare) P, where P is that of the
// profile alone.
func (b *Batch) unitCov(s float64, profile mat.Symmetric) *mat.SymDense {
	p0 := mat.NewSymDense(b.States, nil)
	p0.ScaleSym(s*(1-typeShare), profile)
	p0.AddSym(b.pMu(), p0)
	return p0
}

// Prior is what the batch says of a unit not yet seen. An odd unit is still
// expected: the wide component and the other laws stay as for a fresh one.
func (b *Batch) Prior(spec model.Spec) (*Prior, error) {
	s, err := newSum(&spec)
	if err != nil {
		return nil, err
	}
	n, N := s.model.Shared(), s.dim.N
	if !b.fits(spec.Kind, n) {
		return nil, fmt.Errorf("batch of %d shared states of a %s head does not fit this profile (%d, %s): forget it", b.States, b.Kind, n, spec.Kind)
	}
	base := s.Nominal
	profile := leading(base.P, N, n)
	var all []*Component
	main := 0.0
	for _, h := range s.Components {
		if h.Law == base.Law && !h.Wide {
			main += h.Weight
			continue
		}
		all = append(all, h)
	}
	for k, scatter := range scatters {
		h := base.Clone()
		h.Weight, h.Scale = main*b.Weight[k], k
		copy(h.X, b.Mu)
		p0 := b.unitCov(scatter, profile)
		for i := range n {
			for j := range n {
				h.P[i*N+j] = p0.At(i, j)
			}
		}
		all = append(all, h)
	}
	sortComponents(all)
	s.Components = all
	p := s.Posterior(spec.Kind)
	p.Batch = true
	return &p, nil
}

// Learn takes in what became known of a unit that began from b.Prior. Units
// whose leading component is another law or a badly wrong profile teach
// nothing: an odd unit does not drag the others along. It reports whether
// anything was learnt.
func (b *Batch) Learn(spec model.Spec, post Prior) bool {
	n, N := b.States, post.States
	fresh, err := newSum(&spec)
	if err != nil || post.As != "" || post.Kind != b.Kind || len(post.Hypotheses) == 0 || fresh.dim.N != N || !b.fits(spec.Kind, fresh.model.Shared()) {
		return false
	}
	lead := &post.Hypotheses[0]
	if !lead.ordinary() || !lead.sound(N, fresh.model.Laws()) {
		return false
	}
	weights, ok := ordinaryWeights(post.Hypotheses)
	if !ok {
		return false
	}
	p0 := b.unitCov(scatters[lead.Scale], leading(fresh.Nominal.P, N, n))
	if !b.update(lead.Mean[:n], leading(lead.Cov, N, n), p0) {
		return false
	}
	for i, w := range weights {
		b.Weight[i] = forget*w + (1-forget)/float64(len(scatters))
	}
	b.Units++
	return true
}

// ordinary reports whether a component is of the profile's own law and scatter.
func (q *PriorComponent) ordinary() bool {
	return !q.Wide && q.Law == 0 && q.Scale >= 0 && q.Scale < len(scatters)
}

// ordinaryWeights are the weights of the scatters among the ordinary components;
// ok is false when these do not lead together.
func ordinaryWeights(all []PriorComponent) (w [len(scatters)]float64, ok bool) {
	sum := 0.0
	for i := range all {
		if q := &all[i]; q.ordinary() {
			w[q.Scale] += q.Weight
			sum += q.Weight
		}
	}
	for i := range w {
		w[i] /= sum
	}
	return w, sum > oddUnit
}

// update moves the mean of the type by a unit that began as N(Mu, P0) and is now
// known as N(m, C). The unit tells of the mean through their covariance PMu:
//
//	K    = PMu P0^-1
//	Mu  += K (m - Mu)
//	PMu += K (C - P0) K'
//
// It reports false, and leaves the batch as it was, when the numbers do not hold.
func (b *Batch) update(m []float64, c, p0 *mat.SymDense) bool {
	n := b.States
	var chol mat.Cholesky
	if !chol.Factorize(p0) {
		return false
	}
	var kt, diff, t, grown mat.Dense
	if err := chol.SolveTo(&kt, b.pMu()); err != nil { // K' = P0^-1 PMu
		return false
	}
	mu, step := mat.NewVecDense(n, slices.Clone(b.Mu)), mat.NewVecDense(n, nil)
	step.SubVec(mat.NewVecDense(n, m), mu)
	step.MulVec(kt.T(), step)
	mu.AddVec(mu, step)
	for _, v := range mu.RawVector().Data {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	diff.Sub(c, p0)
	t.Mul(kt.T(), &diff)
	grown.Mul(&t, &kt)
	for i := range n {
		for j := i; j < n; j++ {
			v := b.PMu[i*n+j] + grown.At(i, j)
			b.PMu[i*n+j], b.PMu[j*n+i] = v, v
		}
		b.PMu[i*n+i] = max(b.PMu[i*n+i], leastBatch)
	}
	b.Mu = mu.RawVector().Data
	return true
}
