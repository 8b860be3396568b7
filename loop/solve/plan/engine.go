package plan

import (
	"math"

	"trueup/colorcalc"
	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

// Engine turns a state into a drive for a chromaticity.
type Engine struct {
	m    *model.Engine
	s    *model.Spec
	absY float64 // light asked for as the meter counts it; 0 = the dimmer stays
}

// NewEngine plans for a head that is driven by its colour.
func NewEngine(m *model.Engine, s *model.Spec) *Engine { return &Engine{m: m, s: s} }

// AskLevel asks for a level as the meter counts it.
func (e *Engine) AskLevel(y float64) { e.absY = y }

// Release has nothing to forget.
func (e *Engine) Release() {}

// Near is no other step: an engine chooses its emitters itself.
func (e *Engine) Near(int, []float64, []float64, colorcalc.UV, float64) (Plan, bool) {
	return Plan{}, false
}

// Lit is the drive: nobody sees an engine's emitters.
func (e *Engine) Lit(d []float64, _ Reading, _ float64) []float64 { return d }

// Plan plans from the present drive.
func (e *Engine) Plan(law int, x, now []float64, t colorcalc.UV, tol float64) (Plan, bool) {
	return e.plan(law, x, now, t, tol, false)
}

// Fresh plans without regard to where the head stands.
func (e *Engine) Fresh(law int, x, now []float64, t colorcalc.UV, tol float64) Plan {
	p, _ := e.plan(law, x, now, t, tol, true)
	return p
}

// plan finds the drive whose predicted colour (local offset taken off the
// target t) is nearest: Newton from the present drive and from the best of a
// coarse grid, then a pattern search if Newton leaves something, then the
// lattice of codes.
func (e *Engine) plan(law int, x, now []float64, t colorcalc.UV, tol float64, fresh bool) (Plan, bool) {
	ch := e.m.Channels()
	dims := len(ch)
	lo, hi := e.m.Box()
	miss := func(d [2]float64) (float64, float64) {
		u, v := e.m.At(law, x, d[0], d[1])
		return u - t.U, v - t.V
	}
	err := func(d [2]float64) float64 { return math.Hypot(miss(d)) }
	best := [2]float64{}
	for k, c := range ch {
		best[k] = num.Clamp(now[c], lo[k], hi[k])
	}
	top := math.Inf(1)
	steps := e.m.Detents(lo[0], hi[0])
	switch {
	case len(steps) > 0:
		best, top = e.stepwise(steps, miss, best, lo, hi, dims)
	case !fresh:
		best, top = e.newton(miss, best, lo, hi, dims)
	}
	if top > refineAbove*tol && len(steps) == 0 {
		best, top = e.everywhere(miss, best, top, refineAbove*tol, lo, hi, dims)
	}
	pl := e.Quantise(err, best, now)
	if e.absY > 0 && e.m.Dimmer() >= 0 {
		i := e.m.Dimmer()
		pl.Codes[i] = e.s.Code(i, e.m.DimmerDrive(x, e.absY))
		pl.D[i] = e.s.Drive(i, pl.Codes[i])
	}
	return pl, top <= reachedWithin*tol
}

// everywhere searches the whole box where best misses by top: Newton from the best of a coarse grid, then, where more than enough is left, the pattern search.
func (e *Engine) everywhere(miss func([2]float64) (float64, float64), best [2]float64, top, enough float64, lo, hi [2]float64, dims int) ([2]float64, float64) {
	err := func(d [2]float64) float64 { return math.Hypot(miss(d)) }
	start, low := best, math.Inf(1)
	for i := range coarseGrid + 1 {
		for j := range coarseGrid + 1 {
			d := [2]float64{lo[0] + (hi[0]-lo[0])*float64(i)/coarseGrid, lo[1] + (hi[1]-lo[1])*float64(j)/coarseGrid}
			if v := err(d); v < low {
				start, low = d, v
			}
			if dims == 1 {
				break
			}
		}
	}
	starts := e.starts(start, lo, hi)
	for _, from := range starts {
		if d, v := e.newton(miss, from, lo, hi, dims); v < top {
			best, top = d, v
		}
	}
	if top <= enough {
		return best, top
	}
	for _, from := range starts {
		if d, v := Pattern(err, from, err(from), lo, hi, dims); v < top {
			best, top = d, v
		}
	}
	if d, v := Pattern(err, best, top, lo, hi, dims); v < top {
		best, top = d, v
	}
	return best, top
}

// starts are where a search begins that is to begin at d: where the hues close to a circle and d lies where they do, on both sides. The
// colours beside the one end are those beyond the other, which no step in the box reaches.
func (e *Engine) starts(d, lo, hi [2]float64) [][2]float64 {
	if h := e.s.HueSat; e.s.Kind != model.HueSat || math.Abs(h.HueScale.To-h.HueScale.From) < wholeCircle*360 || d[0] != lo[0] && d[0] != hi[0] {
		return [][2]float64{d}
	}
	return [][2]float64{{lo[0], d[1]}, {hi[0], d[1]}}
}

// stepwise tries every step of a scale in steps, with the tint that suits it.
func (e *Engine) stepwise(steps []float64, miss func([2]float64) (float64, float64), now, lo, hi [2]float64, dims int) (best [2]float64, top float64) {
	best, top = now, math.Inf(1)
	for _, a := range steps {
		one := func(q [2]float64) (float64, float64) { return miss([2]float64{a, q[0]}) }
		if dims == 1 {
			if v := math.Hypot(one(now)); v < top {
				best, top = [2]float64{a, now[1]}, v
			}
			continue
		}
		for _, b := range [...]float64{now[1], lo[1], (lo[1] + hi[1]) / 2, hi[1]} {
			d, v := e.newton(one, [2]float64{b}, [2]float64{lo[1]}, [2]float64{hi[1]}, 1)
			if v < top {
				best, top = [2]float64{a, d[0]}, v
			}
		}
	}
	return best, top
}

// Quantise puts the parameters q on the lattice of codes: the best of the codes
// about them by err; the other channels stand as now.
func (e *Engine) Quantise(err func([2]float64) float64, d [2]float64, now []float64) Plan {
	out := Plan{Codes: make(model.Drive, len(e.s.Channels)), D: make([]float64, len(e.s.Channels)), Err: math.Inf(1)}
	for i := range e.s.Channels {
		out.Codes[i] = e.s.Code(i, now[i])
	}
	ch := e.m.Channels()
	var c0, best [2]int64
	for k, c := range ch {
		c0[k] = int64(e.s.Code(c, d[k]))
	}
	for i := int64(-1); i <= 1; i++ {
		for j := int64(-1); j <= 1; j++ {
			q, ok := [2]float64{}, true
			at := [2]int64{c0[0] + i, c0[1] + j}
			for k, c := range ch {
				s := e.s.Channels[c]
				ok = ok && at[k] >= int64(s.Lo) && at[k] <= int64(s.Hi)
				q[k] = e.s.Scale(c).FractionAt(float64(at[k]))
			}
			if !ok || len(ch) == 1 && j != 0 {
				continue
			}
			if v := err(q); v < out.Err {
				out.Err, best = v, at
			}
		}
	}
	for k, c := range ch {
		out.Codes[c] = uint32(best[k])
	}
	for i := range e.s.Channels {
		out.D[i] = e.s.Drive(i, out.Codes[i])
	}
	return out
}
