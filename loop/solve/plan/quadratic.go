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

// Where an emitter stands in the search: at its least, between, or at its most.
const (
	atLeast = -1
	free    = 0
	atMost  = 1
)

// minimise goes from the shape a.z, which is feasible, to the least z' h z: the primal
// active-set method (Nocedal and Wright, Numerical Optimization, 2006, algorithm 16.3). h is row by row and not
// negative definite.
func (a *alike) minimise(h []float64) {
	h = ridged(h, len(a.z))
	state := a.states()
	for range activeMost {
		a.steps++
		grad, size, steepest := a.gradient(h)
		var which []int
		for j, s := range state {
			if s == free {
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
		if length > activeStill*size {
			a.advance(which, step, state)
			continue
		}
		release := a.pulled(grad, mult, state, activeSign*steepest)
		if release < 0 {
			return
		}
		state[release] = free
	}
}

// ridged is a copy of h with a little on its diagonal.
func ridged(h []float64, n int) []float64 {
	h = append([]float64(nil), h...)
	trace := 0.0
	for j := range n {
		trace += h[j*n+j]
	}
	for j := range n {
		h[j*n+j] += activeRidge * trace / float64(n)
	}
	return h
}

// states says where every emitter stands, and puts those next to a bound on it.
func (a *alike) states() []int {
	state := make([]int, len(a.z))
	for j, v := range a.z {
		switch {
		case v <= a.least[j]+activeZero*a.most[j]:
			state[j], a.z[j] = atLeast, a.least[j]
		case v >= (1-activeZero)*a.most[j]:
			state[j], a.z[j] = atMost, a.most[j]
		}
	}
	return state
}

// gradient is h z, with the largest of z and of itself.
func (a *alike) gradient(h []float64) (grad []float64, size, steepest float64) {
	n := len(a.z)
	grad = make([]float64, n)
	for i := range n {
		for j := range n {
			grad[i] += h[i*n+j] * a.z[j]
		}
		size, steepest = max(size, math.Abs(a.z[i])), max(steepest, math.Abs(grad[i]))
	}
	return grad, size, steepest
}

// pulled is the emitter whose bound holds the form up most, by more than zero; -1 for none. At
// its least the form must rise with an emitter, at its most fall.
func (a *alike) pulled(grad []float64, mult [maxRows]float64, state []int, zero float64) int {
	worst, which := zero, -1
	for j := range a.z {
		r := grad[j]
		for k := range maxRows {
			r += mult[k] * a.equal[k][j]
		}
		if pull := float64(state[j]) * r; pull > worst {
			worst, which = pull, j
		}
	}
	return which
}

// advance takes the step, or the part of it that the first bound allows.
func (a *alike) advance(which []int, step []float64, state []int) {
	reach, block, side := 1.0, -1, free
	for i, j := range which {
		switch d := step[i]; {
		case d < 0 && a.z[j]+reach*d < a.least[j]:
			reach, block, side = (a.least[j]-a.z[j])/d, j, atLeast
		case d > 0 && a.z[j]+reach*d > a.most[j]:
			reach, block, side = (a.most[j]-a.z[j])/d, j, atMost
		}
	}
	for i, j := range which {
		a.z[j] = min(max(a.z[j]+reach*step[i], a.least[j]), a.most[j])
	}
	if block < 0 {
		return
	}
	state[block], a.z[block] = side, a.least[block]
	if side == atMost {
		a.z[block] = a.most[block]
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
