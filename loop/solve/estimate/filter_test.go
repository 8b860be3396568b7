package estimate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distmv"

	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

// flat is a model whose law is linear, z = H x: there the filter must give what
// linear algebra gives. Only what the filter asks for is there.
type flat struct {
	model.Model
	n int
	h []float64 // 3 x n
}

func (f flat) Dim() model.Dim  { return model.Dim{N: f.n, B: 0, G: 2} }
func (f flat) Bound([]float64) {}

func (f flat) Predict(_ int, x, _ []float64, z *[3]float64, jac []float64) {
	for r := range 3 {
		z[r] = 0
		for i := range f.n {
			z[r] += f.h[r*f.n+i] * x[i]
		}
	}
	if jac != nil {
		copy(jac, f.h)
	}
}

func flatCase(seed uint64, n int) (flat, *Component, *rand.Rand) {
	r := rand.New(rand.NewPCG(seed, 31))
	f := flat{n: n, h: make([]float64, 3*n)}
	for i := range f.h {
		f.h[i] = r.NormFloat64()
	}
	c := &Component{Component: model.Component{State: model.State{X: make([]float64, n), P: make([]float64, n*n)}}}
	root := mat.NewDense(n, n, nil)
	for i := range n {
		c.X[i] = r.NormFloat64()
		for j := range n {
			root.Set(i, j, 0.3*r.NormFloat64())
		}
	}
	var p mat.Dense
	p.Mul(root, root.T())
	for i := range n {
		for j := range n {
			c.P[i*n+j] = (p.At(i, j) + p.At(j, i)) / 2
		}
		c.P[i*n+i] += 0.01
	}
	return f, c, r
}

// On a linear law the filter is the Bayesian least squares of the books: P^-1 grows
// by H' R^-1 H, and the mean solves the normal equations. Both are computed here in
// information form by gonum, with two axes and with three.
func TestFilterOnALinearLaw(t *testing.T) {
	const n = 6
	for seed := range uint64(20) {
		for _, axes := range []int{2, 3} {
			f, c, r := flatCase(seed, n)
			o := Obs{Z: [3]float64{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}, R: num.Cov2{UU: 0.04, UV: 0.01, VV: 0.09}, RY: 0.02, Axes: axes}
			x, p := leastSquares(t, f, c, &o)
			want := lnDensity(t, f, c, &o)
			ll, ok := NewFilter(f).Update(c, nil, &o)
			if !ok || math.Abs(ll-want) > 1e-9*(1+math.Abs(want)) {
				t.Errorf("seed %d, %d axes: ln of the evidence %.12g, want %.12g", seed, axes, ll, want)
			}
			if d := floats.Distance(c.X, x.RawVector().Data, math.Inf(1)); d > 1e-9 {
				t.Errorf("seed %d, %d axes: the mean is off by %g", seed, axes, d)
			}
			if d := floats.Distance(c.P, p.RawMatrix().Data, math.Inf(1)); d > 1e-9 {
				t.Errorf("seed %d, %d axes: the covariance is off by %g", seed, axes, d)
			}
		}
	}
}

// noiseOf is R over the axes read, and jacobianOf H.
func noiseOf(o *Obs) *mat.SymDense {
	all := mat.NewSymDense(3, []float64{o.R.UU, o.R.UV, 0, o.R.UV, o.R.VV, 0, 0, 0, o.RY})
	r := mat.NewSymDense(o.Axes, nil)
	r.CopySym(all.SliceSym(0, o.Axes))
	return r
}

func jacobianOf(f flat, axes int) *mat.Dense { return mat.NewDense(axes, f.n, f.h[:axes*f.n]) }

// leastSquares is the posterior in information form: P^-1 + H' R^-1 H, and
// P^-1 x + H' R^-1 z.
func leastSquares(t *testing.T, f flat, c *Component, o *Obs) (*mat.VecDense, *mat.Dense) {
	t.Helper()
	n, h := f.n, jacobianOf(f, o.Axes)
	var ri, pi, hr, info, cov mat.Dense
	if ri.Inverse(noiseOf(o)) != nil || pi.Inverse(mat.NewDense(n, n, slices.Clone(c.P))) != nil {
		t.Fatal("the case is singular")
	}
	hr.Mul(h.T(), &ri)
	info.Mul(&hr, h)
	info.Add(&info, &pi)
	var x, a, b mat.VecDense
	a.MulVec(&pi, mat.NewVecDense(n, slices.Clone(c.X)))
	b.MulVec(&hr, mat.NewVecDense(o.Axes, o.Z[:o.Axes]))
	a.AddVec(&a, &b)
	if cov.Inverse(&info) != nil || x.SolveVec(&info, &a) != nil {
		t.Fatal("the case is singular")
	}
	return &x, &cov
}

// lnDensity is that of z under N(H x, H P H' + R).
func lnDensity(t *testing.T, f flat, c *Component, o *Obs) float64 {
	t.Helper()
	h := jacobianOf(f, o.Axes)
	var hp, s mat.Dense
	var mean mat.VecDense
	hp.Mul(h, mat.NewDense(f.n, f.n, slices.Clone(c.P)))
	s.Mul(&hp, h.T())
	s.Add(&s, noiseOf(o))
	mean.MulVec(h, mat.NewVecDense(f.n, slices.Clone(c.X)))
	normal, ok := distmv.NewNormal(mean.RawVector().Data, mat.NewSymDense(o.Axes, s.RawMatrix().Data), nil)
	if !ok {
		t.Fatal("the case is singular")
	}
	return normal.LogProb(o.Z[:o.Axes])
}

// Ten readings at one drive, pooled, are what their mean is with a tenth of the
// noise.
func TestPooledReadingsAreTheirMean(t *testing.T) {
	f, c, r := flatCase(4, 5)
	c.newStation()
	once := c.Clone()
	filter := NewFilter(f)
	mean := Obs{R: num.Cov2{UU: 0.004, VV: 0.004}, RY: 0.002, Axes: 3}
	for range 10 {
		o := Obs{R: num.Cov2{UU: 0.04, VV: 0.04}, RY: 0.02, Axes: 3}
		for k := range o.Z {
			o.Z[k] = r.NormFloat64()
			mean.Z[k] += o.Z[k] / 10
		}
		if _, ok := filter.UpdatePooled(c, nil, &o); !ok {
			t.Fatal("the numbers did not hold")
		}
	}
	if _, ok := filter.Update(once, nil, &mean); !ok {
		t.Fatal("the numbers did not hold")
	}
	for i := range c.X {
		if math.Abs(c.X[i]-once.X[i]) > 1e-9 || math.Abs(c.P[i*5+i]-once.P[i*5+i]) > 1e-9 {
			t.Errorf("state %d: %.9g and %.9g pooled, %.9g and %.9g at once", i, c.X[i], c.P[i*5+i], once.X[i], once.P[i*5+i])
		}
	}
}
