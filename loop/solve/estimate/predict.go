package estimate

import (
	"math"

	"trueup/colorcalc"
	"trueup/loop/solve/model"
)

// The time update of the sum: what moves, pauses and second thoughts do to it.

// Arrive adds the process noise of a move to every component and begins a new
// station. from is nil where the head stood nowhere yet. p, unless nil, then has
// the last word on the local offset.
func (s *Sum) Arrive(from, to []float64, p *Process) {
	for _, h := range s.Components {
		if from != nil {
			s.model.Move(&h.State, from, to)
		}
		if p != nil {
			p.restore(h, s.dim, to)
		}
		h.Hits = 0
		h.newStation()
	}
}

// Elapse lets the state walk for dt seconds at drive d.
func (s *Sum) Elapse(dt float64, d []float64) {
	dt = min(dt, longestGap)
	for _, h := range s.Components {
		s.model.Elapse(&h.State, dt, d)
		if h.at.n == 0 {
			h.newStation()
			continue
		}
		before := model.State{Law: h.Law, Wide: h.Wide, X: h.at.x, P: h.at.p}
		s.model.Elapse(&before, dt, d)
	}
}

// GuessScale puts the scale between model and meter where the first level has
// it; its variance stays that of not knowing.
func (s *Sum) GuessScale(d []float64, lnY float64) {
	g := s.dim.G
	lead := s.Lead()
	z := s.Filter.Predict(&lead.State, d)
	at := lead.X[g] + lnY - z[2]
	for _, h := range s.Components {
		h.X[g] = at
		h.newStation()
	}
}

// Yield gives way where a component and the mean of several readings at drive d
// do not agree by `off` standard deviations of that mean: a state at its bounds
// can not follow the light, and what was read counts for more than any law. The
// rest goes into the local offset. variance is that of the mean, per axis.
func (s *Sum) Yield(d []float64, mean colorcalc.UV, variance, off float64) {
	b, N := s.dim.B, s.dim.N
	for _, h := range s.Components {
		z, _ := s.Filter.Spread(&h.State, d)
		if math.Hypot(mean.U-z[0], mean.V-z[1]) < off*math.Sqrt(variance) {
			continue
		}
		h.X[b] += mean.U - z[0]
		h.X[b+1] += mean.V - z[1]
		for _, i := range [...]int{b, b + 1} {
			h.P[i*N+i] += variance
		}
		h.newStation()
	}
}
