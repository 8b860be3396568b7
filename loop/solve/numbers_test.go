package solve

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// A round Gaussian within a circle about its mean is Rayleigh's law; 2.4477
// sigma hold 95 % (chi-square, two degrees of freedom: 5.991).
func TestCircleHoldsWhatRayleighSays(t *testing.T) {
	for _, s := range []float64{1e-5, 3e-4, 1e-3, 0.02} {
		for _, k := range []float64{0.2, 1, 2.4477, 3.0349} {
			want := 1 - math.Exp(-k*k/2)
			if got := inCircle(0, 0, cov2{s * s, 0, s * s}, k*s); math.Abs(got-want) > 2e-5 {
				t.Errorf("sigma %g, %g sigma: %.6f, want %.6f", s, k, got, want)
			}
		}
	}
	if got := inCircle(0, 0, cov2{1, 0, 1}, math.Sqrt(5.991464547)); math.Abs(got-0.95) > 1e-5 {
		t.Errorf("95 %% circle holds %.6f", got)
	}
}

// Off centre, slanted and needle-shaped Gaussians agree with counting.
func TestCircleAgainstCounting(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for _, c := range []struct{ du, dv, s1, s2, a float64 }{
		{0.4, -0.3, 0.5, 0.2, 0.7}, {1.2, 0.1, 0.4, 0.4, 0}, {0.2, 0.9, 2, 0.01, 1.1}, {0, 0, 0.9, 0.3, -0.4},
	} {
		sin, cos := math.Sincos(c.a)
		cov := cov2{c.s1*c.s1*cos*cos + c.s2*c.s2*sin*sin, (c.s1*c.s1 - c.s2*c.s2) * sin * cos, c.s1*c.s1*sin*sin + c.s2*c.s2*cos*cos}
		const n = 200000
		in := 0
		for range n {
			p, q := c.s1*r.NormFloat64(), c.s2*r.NormFloat64()
			if math.Hypot(c.du+p*cos-q*sin, c.dv+p*sin+q*cos) <= 1 {
				in++
			}
		}
		want := float64(in) / n
		if got := inCircle(c.du, c.dv, cov, 1); math.Abs(got-want) > 0.005 {
			t.Errorf("%+v: %.4f, counted %.4f", c, got, want)
		}
	}
}

// The small mixing program finds what gonum's simplex finds.
func TestProgramAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	agreed := 0
	for try := range 200 {
		n, rows := 3+r.IntN(5), 2+r.IntN(2)
		var p program
		p.n, p.rows = n, rows
		for j := range n {
			p.c[j] = r.Float64()
			p.hi[j] = 0.5 + r.Float64()
		}
		for i := range rows {
			for j := range n {
				p.a[i][j] = r.NormFloat64()
				p.b[i] += p.a[i][j] * r.Float64() * p.hi[j]
			}
		}
		// Standard form: x and the slack to its upper bound.
		a := mat.NewDense(rows+n, 2*n, nil)
		b := make([]float64, rows+n)
		c := make([]float64, 2*n)
		for i := range rows {
			b[i] = p.b[i]
			for j := range n {
				a.Set(i, j, p.a[i][j])
			}
		}
		for j := range n {
			c[j] = -p.c[j]
			a.Set(rows+j, j, 1)
			a.Set(rows+j, n+j, 1)
			b[rows+j] = p.hi[j]
		}
		want, _, err := lp.Simplex(c, a, b, 1e-10, nil)
		ok := p.solve()
		if (err == nil) != ok {
			if err != lp.ErrInfeasible && err != nil {
				continue // the peer lost its way
			}
			t.Errorf("try %d: feasible %v, the peer says %v", try, ok, err)
			continue
		}
		if !ok {
			continue
		}
		agreed++
		if math.Abs(p.obj+want) > 1e-6 {
			t.Errorf("try %d: objective %.9g, the peer has %.9g", try, p.obj, -want)
		}
		for i := range rows {
			s := -p.b[i]
			for j := range n {
				s += p.a[i][j] * p.x[j]
			}
			if math.Abs(s) > 1e-6 {
				t.Errorf("try %d: equation %d is off by %g", try, i, s)
			}
		}
	}
	if agreed < 50 {
		t.Errorf("only %d programs were feasible: the test proves little", agreed)
	}
}
