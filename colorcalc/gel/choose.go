package gel

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"trueup/colorcalc"
)

// Choice is a set of layers and what they would do.
type Choice struct {
	Layers   []Gel
	Result   colorcalc.XY // chromaticity behind the layers
	Residual float64      // what is left to the target, in u'v'
	// Stops is the light that is lost, log2 of the share of Y that passes.
	Stops      float64
	StopsKnown bool // false where a filter of the list does not say
	// Computed: from the real spectra of light and filters. Otherwise a guess.
	Computed bool
	Notes    []string // what to know before trusting it, a sentence or two each
}

// Limits of a list: more than this takes too long for three layers.
const (
	MaxGels   = 400
	MaxLayers = 3
	// perStop is what one stop of light weighs against u'v' when two sets come
	// out alike: less than half a step.
	perStop = 0.0005
	keep    = 60 // sets that are computed in full for each number of layers
)

// Choose finds, for one, two and up to maxLayers (3) layers, the set of
// filters that comes nearest to the target; the same filter may be used twice.
// The sets are told apart first by adding shifts, then the best are computed
// in full. Errors: a source without spectrum or colour temperature, a broken
// list, more than 400 filters.
func Choose(from Source, target colorcalc.XY, list []Gel, maxLayers int) ([]Choice, error) {
	if !target.Valid() {
		return nil, fmt.Errorf("gel: the target: %w", colorcalc.ErrNotAColour)
	}
	if len(list) == 0 || len(list) > MaxGels {
		return nil, fmt.Errorf("gel: %d filters in the list, want 1 to %d", len(list), MaxGels)
	}
	for _, g := range list {
		if err := g.Check(); err != nil {
			return nil, err
		}
	}
	l, err := newLamp(from)
	if err != nil {
		return nil, err
	}
	s := newSearch(l, target, list)
	if len(s.gels) == 0 {
		return nil, errors.New("gel: none of the filters can be judged on this light; give spectra")
	}
	var out []Choice
	for n := 1; n <= min(max(maxLayers, 1), MaxLayers); n++ {
		c, ok := s.best(n)
		if ok {
			out = append(out, c)
		}
	}
	if len(out) == 0 {
		return nil, errors.New("gel: no set of filters gives a light that can be judged")
	}
	return out, nil
}

// search ranks sets of layers.
type search struct {
	lamp   *lamp
	target colorcalc.UV
	gels   []*Gel
	shift  []ratios // of each filter alone, at this light
	loss   []float64
	want   ratios
	jac    [4]float64 // d(u',v')/d(p,q) at the target
}

func newSearch(l *lamp, target colorcalc.XY, list []Gel) *search {
	goal := ratiosOf(target.XYZ(1))
	s := &search{lamp: l, target: target.UV()}
	base, _, _ := l.behind(nil)
	for i := range list {
		r, pass, _ := l.behind([]*Gel{&list[i]})
		if !r.finite() || !(pass > 0) {
			continue
		}
		s.gels = append(s.gels, &list[i])
		s.shift = append(s.shift, r.minus(base))
		s.loss = append(s.loss, -math.Log2(pass))
	}
	s.want = goal.minus(base)
	const h = 1e-5
	o, a, b := goal.uv(), goal.plus(ratios{h, 0}).uv(), goal.plus(ratios{0, h}).uv()
	s.jac = [4]float64{(a.U - o.U) / h, (b.U - o.U) / h, (a.V - o.V) / h, (b.V - o.V) / h}
	return s
}

type candidate struct {
	index [MaxLayers]int
	cost  float64
}

// cost judges a set by the sum of its shifts.
func (s *search) cost(sum ratios, stops float64) float64 {
	e := sum.minus(s.want)
	return math.Hypot(s.jac[0]*e.p+s.jac[1]*e.q, s.jac[2]*e.p+s.jac[3]*e.q) + perStop*stops
}

// best ranks all sets of n filters and computes the first ones in full.
func (s *search) best(n int) (Choice, bool) {
	var top []candidate
	worst := math.Inf(1)
	add := func(c candidate) {
		if len(top) == keep && c.cost >= worst {
			return
		}
		i, _ := slices.BinarySearchFunc(top, c, func(a, b candidate) int {
			if a.cost < b.cost {
				return -1
			}
			return 1
		})
		top = slices.Insert(top, i, c)
		if len(top) > keep {
			top = top[:keep]
		}
		worst = top[len(top)-1].cost
	}
	var walk func(depth, from int, c candidate, sum ratios, stops float64)
	walk = func(depth, from int, c candidate, sum ratios, stops float64) {
		if depth == n {
			c.cost = s.cost(sum, stops)
			add(c)
			return
		}
		for i := from; i < len(s.gels); i++ {
			c.index[depth] = i
			walk(depth+1, i, c, sum.plus(s.shift[i]), stops+s.loss[i])
		}
	}
	walk(0, 0, candidate{}, ratios{}, 0)

	var best Choice
	found, score := false, math.Inf(1)
	for _, c := range top {
		layers := make([]*Gel, n)
		for k := range layers {
			layers[k] = s.gels[c.index[k]]
		}
		choice, ok := s.compute(layers)
		if v := choice.Residual + perStop*choice.Stops; ok && v < score {
			best, found, score = choice, true, v
		}
	}
	return best, found
}

// compute works a set out in full.
func (s *search) compute(layers []*Gel) (Choice, bool) {
	r, pass, known := s.lamp.behind(layers)
	uv := r.uv()
	if !r.finite() || uv == (colorcalc.UV{}) {
		return Choice{}, false
	}
	c := Choice{Result: uv.XY(), Residual: uv.Dist(s.target), Stops: -math.Log2(pass), StopsKnown: known, Computed: s.lamp.standIn == ""}
	nominal, shifts := false, false
	for _, g := range layers {
		c.Layers = append(c.Layers, *g)
		nominal = nominal || g.Nominal
		shifts = shifts || g.Spectrum == nil
	}
	c.Computed = c.Computed && !nominal && !shifts
	c.Notes = notes(s.lamp.standIn, nominal, shifts)
	return c, true
}

// notes says why a result may be off.
func notes(standIn string, nominal, shifts bool) (out []string) {
	if standIn != "" {
		out = append(out, "The light's spectrum is not known: predicted as if it was "+standIn+"; LEDs and discharge lamps can land elsewhere, so meter it.")
	}
	if shifts {
		out = append(out, "Filters known by their shift alone are added up: a shift holds for the light it was stated for.")
	}
	if nominal {
		out = append(out, "The filters are nominal: look for the nearest in a swatch book.")
	}
	return out
}
