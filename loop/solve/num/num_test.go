package num

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A round Gaussian within a circle about its mean is Rayleigh's law; 2.4477
// sigma hold 95 % (chi-square, two degrees of freedom: 5.991).
func TestCircleHoldsWhatRayleighSays(t *testing.T) {
	for _, s := range []float64{1e-5, 3e-4, 1e-3, 0.02} {
		for _, k := range []float64{0.2, 1, 2.4477, 3.0349} {
			want := 1 - math.Exp(-k*k/2)
			if got := InCircle(0, 0, Cov2{s * s, 0, s * s}, k*s); math.Abs(got-want) > 2e-5 {
				t.Errorf("sigma %g, %g sigma: %.6f, want %.6f", s, k, got, want)
			}
		}
	}
	if got := InCircle(0, 0, Cov2{1, 0, 1}, math.Sqrt(5.991464547)); math.Abs(got-0.95) > 1e-5 {
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
		cov := Cov2{c.s1*c.s1*cos*cos + c.s2*c.s2*sin*sin, (c.s1*c.s1 - c.s2*c.s2) * sin * cos, c.s1*c.s1*sin*sin + c.s2*c.s2*cos*cos}
		const n = 200000
		in := 0
		for range n {
			p, q := c.s1*r.NormFloat64(), c.s2*r.NormFloat64()
			if math.Hypot(c.du+p*cos-q*sin, c.dv+p*sin+q*cos) <= 1 {
				in++
			}
		}
		want := float64(in) / n
		if got := InCircle(c.du, c.dv, cov, 1); math.Abs(got-want) > 0.005 {
			t.Errorf("%+v: %.4f, counted %.4f", c, got, want)
		}
	}
}
