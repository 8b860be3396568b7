package plan

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// The small mixing program finds what gonum's simplex finds.
func TestProgramAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	agreed := 0
	for try := range 200 {
		p := randomProgram(r)
		want, err := gonumSays(&p)
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
		if math.Abs(p.obj-want) > 1e-6 {
			t.Errorf("try %d: objective %.9g, the peer has %.9g", try, p.obj, want)
		}
		for i := range p.rows {
			s := -p.b[i]
			for j := range p.n {
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

func randomProgram(r *rand.Rand) (p program) {
	p.n, p.rows = 3+r.IntN(5), 2+r.IntN(2)
	for j := range p.n {
		p.c[j] = r.Float64()
		p.hi[j] = 0.5 + r.Float64()
	}
	for i := range p.rows {
		for j := range p.n {
			p.a[i][j] = r.NormFloat64()
			p.b[i] += p.a[i][j] * r.Float64() * p.hi[j]
		}
	}
	return p
}

// gonumSays is the largest objective by gonum's simplex, in standard form: x and
// the slack to its upper bound.
func gonumSays(p *program) (float64, error) {
	n, rows := p.n, p.rows
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
	least, _, err := lp.Simplex(c, a, b, 1e-10, nil)
	return -least, err
}
