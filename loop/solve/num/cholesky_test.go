package num

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Factor and solutions are gonum's; a matrix that is not positive definite is
// refused, and one that knows a direction exactly says how many it does not.
func TestCholeskyAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 9))
	for n := 1; n <= 12; n++ {
		p := covariance(r, n)
		b, l := make([]float64, n), make([]float64, n*n)
		for i := range b {
			b[i] = r.NormFloat64()
		}
		var chol mat.Cholesky
		if !chol.Factorize(mat.NewSymDense(n, slices.Clone(p))) || !Cholesky(p, l, n) {
			t.Fatalf("n %d: refused", n)
		}
		var want mat.TriDense
		var x mat.VecDense
		chol.LTo(&want)
		if err := chol.SolveVecTo(&x, mat.NewVecDense(n, slices.Clone(b))); err != nil {
			t.Fatal(err)
		}
		Forward(l, b, n)
		Backward(l, b, n)
		if d := floats.Distance(b, x.RawVector().Data, math.Inf(1)); d > 1e-9*(1+floats.Norm(b, 2))*float64(n*n) {
			t.Errorf("n %d: the solution is off by %g", n, d)
		}
		for i := range n {
			for j := range i + 1 {
				if math.Abs(l[i*n+j]-want.At(i, j)) > 1e-10 {
					t.Errorf("n %d: l %d,%d = %g, want %g", n, i, j, l[i*n+j], want.At(i, j))
				}
			}
		}
		p[n*n-1] = -1
		if Cholesky(p, l, n) {
			t.Errorf("n %d: an indefinite matrix was taken", n)
		}
	}
	exact := []float64{4, 2, 2, 1} // knows the direction (1, -2) exactly
	if l := make([]float64, 4); Cholesky(exact, l, 2) || CholeskyRank(exact, l, 2) != 1 || l[0] != 2 || l[2] != 1 || l[3] != 0 {
		t.Errorf("a matrix of rank one: %v", l)
	}
}

// covariance is a random one, well away from singular.
func covariance(r *rand.Rand, n int) []float64 {
	root := mat.NewDense(n, n, nil)
	for i := range n {
		for j := range n {
			root.Set(i, j, r.NormFloat64())
		}
		root.Set(i, i, root.At(i, i)+2)
	}
	p := mat.NewSymDense(n, nil)
	p.SymOuterK(1, root)
	full := mat.DenseCopyOf(p)
	return full.RawMatrix().Data
}

// The nodes and weights are those that gonum computes, and the normal
// distribution function is gonum's.
func TestQuadratureAndNormalAgainstGonum(t *testing.T) {
	x, w := make([]float64, 24), make([]float64, 24)
	quad.Legendre{}.FixedLocations(x, w, -1, 1)
	for i := range glx {
		if math.Abs(x[11-i]-glx[i]) > 1e-14 || math.Abs(w[11-i]-glw[i]) > 1e-14 {
			t.Errorf("node %d: %.16g %.16g, want %.16g %.16g", i, glx[i], glw[i], x[11-i], w[11-i])
		}
	}
	for z := -8.0; z <= 8; z += 0.37 {
		if got, want := Phi(z), distuv.UnitNormal.CDF(z); math.Abs(got-want) > 1e-15 {
			t.Errorf("Phi(%g) = %g, want %g", z, got, want)
		}
	}
}
