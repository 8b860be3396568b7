package plan

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Figures of the active-set method.
const (
	activeMost  = 100   // steps: eight emitters take 22 at the most
	activeZero  = 1e-11 // of a bound: there
	activeStill = 1e-10 // of the shape's length: no step
	activeSign  = 1e-9  // of the largest gradient: a multiplier counts as zero
	activeRidge = 1e-12 // of the mean diagonal, for directions that change nothing
)

// minimise goes from the shape a.z, which is feasible, to the least z' h z: the primal
// active-set method (Nocedal and Wright, Numerical Optimization, 2006, algorithm 16.3). h is row by row and not
// negative definite.
func (a *alike) minimise(h []float64) {
	n := len(a.z)
	h = append([]float64(nil), h...)
	trace := 0.0
	for j := range n {
		trace += h[j*n+j]
	}
	for j := range n {
		h[j*n+j] += activeRidge * trace / float64(n)
	}
	const free, low, high = 0, -1, 1
	state := make([]int, n)
	for j, v := range a.z {
		switch {
		case v <= activeZero*a.most[j]:
			state[j], a.z[j] = low, 0
		case v >= (1-activeZero)*a.most[j]:
			state[j], a.z[j] = high, a.most[j]
		}
	}
	grad := make([]float64, n)
	for range activeMost {
		a.steps++
		size, steepest := 0.0, 0.0
		for i := range n {
			grad[i] = 0
			for j := range n {
				grad[i] += h[i*n+j] * a.z[j]
			}
			size, steepest = max(size, math.Abs(a.z[i])), max(steepest, math.Abs(grad[i]))
		}
		var which []int
		for j := range n {
			if state[j] == free {
				which = append(which, j)
			}
		}
		step, mult, ok := a.newton(h, grad, which)
		if !ok {
			return
		}
		length := 0.0
		for _, d := range step {
			length = max(length, math.Abs(d))
		}
		if length <= activeStill*size {
			worst, release := activeSign*steepest, -1
			for j := range n {
				r := grad[j]
				for k := range maxRows {
					r += mult[k] * a.equal[k][j]
				}
				// At 0 the form must rise with the emitter, at its most fall.
				if pull := float64(state[j]) * r; state[j] != free && pull > worst {
					worst, release = pull, j
				}
			}
			if release < 0 {
				return
			}
			state[release] = free
			continue
		}
		reach, block, side := 1.0, -1, free
		for i, j := range which {
			switch d := step[i]; {
			case d < 0 && a.z[j]+reach*d < 0:
				reach, block, side = -a.z[j]/d, j, low
			case d > 0 && a.z[j]+reach*d > a.most[j]:
				reach, block, side = (a.most[j]-a.z[j])/d, j, high
			}
		}
		for i, j := range which {
			a.z[j] = min(max(a.z[j]+reach*step[i], 0), a.most[j])
		}
		if block >= 0 {
			state[block] = side
			a.z[block] = 0
			if side == high {
				a.z[block] = a.most[block]
			}
		}
	}
}

// newton solves the program with the emitters of which alone, and the equations: the step to
// its least and the multipliers of the equations.
func (a *alike) newton(h, grad []float64, which []int) (step []float64, mult [maxRows]float64, ok bool) {
	n, f := len(a.z), len(which)
	k := mat.NewDense(f+maxRows, f+maxRows, nil)
	b := mat.NewVecDense(f+maxRows, nil)
	for i, vi := range which {
		for j, vj := range which {
			k.Set(i, j, h[vi*n+vj])
		}
		for r := range maxRows {
			k.Set(i, f+r, a.equal[r][vi])
			k.Set(f+r, i, a.equal[r][vi])
		}
		b.SetVec(i, -grad[vi])
	}
	var s mat.SVD // fewer free emitters than equations leave multipliers undetermined
	if !s.Factorize(k, mat.SVDThin) {
		return nil, mult, false
	}
	rank := s.Rank(1e-13)
	if rank == 0 {
		return nil, mult, false
	}
	var x mat.VecDense
	s.SolveVecTo(&x, b, rank)
	for i := range f {
		step = append(step, x.AtVec(i))
	}
	for r := range maxRows {
		mult[r] = x.AtVec(f + r)
	}
	return step, mult, true
}
