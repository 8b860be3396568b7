package scene

import (
	"math"
	"slices"
)

// rates are the speeds of wandering that compete, with their weights.
type rates struct {
	grid   []float64 // per square root of a second
	weight []float64 // sum 1
	mix    float64   // part of the weight spread evenly at each update: speeds change
}

// The grids and their weights at the start were found best in simulated rooms (dark, steady,
// walking, drifting, stepping). Sensitivity: three times faster or slower as a
// whole changes hardly anything; a high lowest rate costs a quarter more time in a
// steady room.
func levelRates() rates { // of the background's level, as a fraction of it
	return rates{grid: []float64{1e-4, 3e-4, 1e-3, 2e-3, 5e-3, 15e-3}, weight: []float64{.3, .2, .2, .15, .1, .05}, mix: 0.005}
}

func colourRates() rates { // of the background's colour, u'v'
	return rates{grid: []float64{.3e-5, 2e-5, 6e-5, 16e-5, 40e-5}, weight: []float64{.45, .27, .17, .09, .02}, mix: 0.003}
}

func referenceRates() rates { // of the reference's colour, u'v'
	return rates{grid: []float64{1e-6, 4e-6, 1.5e-5, 5e-5, 1.5e-4}, weight: []float64{.5, .25, .15, .08, .02}, mix: 0.003}
}

func (r *rates) clone() rates {
	return rates{grid: r.grid, weight: slices.Clone(r.weight), mix: r.mix}
}

// square is E[rate²].
func (r *rates) square() float64 {
	s := 0.0
	for i, g := range r.grid {
		s += r.weight[i] * g * g
	}
	return s
}

// learn weighs the rates by how well they foretold an innovation: lnLik gives the
// logarithm of its likelihood at a rate.
func (r *rates) learn(lnLik func(rate float64) float64) {
	ln := make([]float64, len(r.grid))
	best := math.Inf(-1)
	for i, g := range r.grid {
		ln[i] = lnLik(g)
		best = max(best, ln[i])
	}
	if math.IsInf(best, 0) || math.IsNaN(best) {
		return
	}
	sum := 0.0
	for i := range r.weight {
		r.weight[i] *= math.Exp(ln[i] - best)
		sum += r.weight[i]
	}
	for i := range r.weight {
		r.weight[i] = (1-r.mix)*r.weight[i]/sum + r.mix/float64(len(r.weight))
	}
}

// lnMean is the logarithm of the mean likelihood of an innovation over the rates.
func (r *rates) lnMean(lnLik func(rate float64) float64) float64 {
	best := math.Inf(-1)
	for _, g := range r.grid {
		best = max(best, lnLik(g))
	}
	sum := 0.0
	for i, g := range r.grid {
		sum += r.weight[i] * math.Exp(lnLik(g)-best)
	}
	return best + math.Log(sum)
}
