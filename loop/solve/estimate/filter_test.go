package estimate

import (
	"math"
	"math/rand/v2"
	"testing"

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
	for seed := range uint64(20) {
		for _, axes := range []int{2, 3} {
			const n = 6
			f, c, r := flatCase(seed, n)
			o := Obs{Z: [3]float64{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}, R: num.Cov2{UU: 0.04, UV: 0.01, VV: 0.09}, RY: 0.02, Axes: axes}
			h := mat.NewDense(axes, n, f.h[:axes*n])
			cov := mat.NewSymDense(axes, nil)
			cov.SetSym(0, 0, o.R.UU)
			cov.SetSym(0, 1, o.R.UV)
			cov.SetSym(1, 1, o.R.VV)
			if axes == 3 {
				cov.SetSym(2, 2, o.RY)
			}
			var ri, pi, info, hr, want mat.Dense
			if ri.Inverse(cov) != nil || pi.Inverse(mat.NewDense(n, n, append([]float64(nil), c.P...))) != nil {
				t.Fatal("the case is singular")
			}
			hr.Mul(h.T(), &ri)
			info.Mul(&hr, h)
			info.Add(&info, &pi)
			var right, a, b mat.VecDense
			a.MulVec(&pi, mat.NewVecDense(n, append([]float64(nil), c.X...)))
			b.MulVec(&hr, mat.NewVecDense(axes, o.Z[:axes]))
			a.AddVec(&a, &b)
			if want.Inverse(&info) != nil || right.SolveVec(&info, &a) != nil {
				t.Fatal("the case is singular")
			}
			// What the evidence must be: the density of z under N(H x, H P H' + R).
			var hp, s mat.Dense
			hp.Mul(h, mat.NewDense(n, n, append([]float64(nil), c.P...)))
			s.Mul(&hp, h.T())
			s.Add(&s, cov)
			sym := mat.NewSymDense(axes, nil)
			mean := make([]float64, axes)
			for i := range axes {
				for j := range n {
					mean[i] += f.h[i*n+j] * c.X[j]
				}
				for j := i; j < axes; j++ {
					sym.SetSym(i, j, s.At(i, j))
				}
			}
			density, ok := distmv.NewNormal(mean, sym, nil)
			if !ok {
				t.Fatal("the case is singular")
			}
			lnWant := density.LogProb(o.Z[:axes])

			ll, ok := NewFilter(f).Update(c, nil, &o)
			if !ok || math.Abs(ll-lnWant) > 1e-9*(1+math.Abs(lnWant)) {
				t.Errorf("seed %d, %d axes: ln of the evidence %.12g, want %.12g", seed, axes, ll, lnWant)
			}
			for i := range n {
				if math.Abs(c.X[i]-right.AtVec(i)) > 1e-9 {
					t.Errorf("seed %d, %d axes: state %d is %.12g, want %.12g", seed, axes, i, c.X[i], right.AtVec(i))
				}
				for j := range n {
					if math.Abs(c.P[i*n+j]-want.At(i, j)) > 1e-9 {
						t.Errorf("seed %d, %d axes: covariance %d,%d is %.12g, want %.12g", seed, axes, i, j, c.P[i*n+j], want.At(i, j))
					}
				}
			}
		}
	}
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
