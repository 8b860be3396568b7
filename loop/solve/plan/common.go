package plan

import (
	"container/heap"
	"math"

	"trueup/colorcalc"
)

// Region is what one lamp reaches.
type Region struct {
	Outline []colorcalc.UV // closed polygon in u'v'; it need not be convex
	Slack   float64        // a colour this far outside still counts as reached, u'v'; negative: it must lie within
}

// Reaches tells whether a colour lies in the region.
func (r *Region) Reaches(t colorcalc.UV) bool { return r.inside(t) >= -r.Slack }

// Off is how far a colour lies outside the outline, u'v'; 0 within.
func (r *Region) Off(t colorcalc.UV) float64 { return max(0, -r.inside(t)) }

// inside is the distance of a colour from the outline, negative outside. It changes by no more
// than the colour moves, whatever the shape of the outline: that is what Common rests on.
func (r *Region) inside(t colorcalc.UV) float64 {
	in, best := false, math.Inf(1)
	for i, a := range r.Outline {
		b := r.Outline[(i+1)%len(r.Outline)]
		if (a.V > t.V) != (b.V > t.V) && t.U < a.U+(t.V-a.V)/(b.V-a.V)*(b.U-a.U) { // even-odd rule
			in = !in
		}
		du, dv := b.U-a.U, b.V-a.V
		s := 0.0
		if l := du*du + dv*dv; l > 0 {
			s = min(max(((t.U-a.U)*du+(t.V-a.V)*dv)/l, 0), 1)
		}
		best = min(best, math.Hypot(a.U+s*du-t.U, a.V+s*dv-t.V))
	}
	if in {
		return best
	}
	return -best
}

// Figures of the search for a common colour.
const (
	commonEnough = 2e-6   // half of a cell's diagonal at which it counts as a point, u'v'
	commonReach  = 0.7    // the search goes no farther from the wish: u' and v' of all light lie within
	commonCells  = 400000 // cells looked at in all
)

// Common is the colour nearest to wish that at least so many of the regions reach. ok is false
// where there is none. It halves cells (branch and bound): a cell whose middle is farther outside
// a region than its half diagonal holds no colour of it, and one nearer than that by as much is all
// in it. The nearest cell goes first, so the first that is as small as a point is the answer, to
// within its size.
func Common(wish colorcalc.UV, regions []Region, least int) (at colorcalc.UV, ok bool) {
	root := cell{at: wish, half: commonReach}
	for i := range regions {
		root.open = append(root.open, i)
	}
	h := &cells{}
	push := func(c cell) {
		r := c.half * math.Sqrt2
		open := make([]int, 0, len(c.open))
		for _, i := range c.open {
			switch d := regions[i].inside(c.at) + regions[i].Slack; {
			case d < -r:
			case d >= r:
				c.sure++
			default:
				open = append(open, i)
			}
		}
		c.open = open
		if c.sure+len(c.open) >= least {
			c.off = max(0, math.Hypot(max(0, math.Abs(c.at.U-wish.U)-c.half), max(0, math.Abs(c.at.V-wish.V)-c.half)))
			heap.Push(h, c)
		}
	}
	for push(root); h.Len() > 0 && h.seen < commonCells; h.seen++ {
		c := heap.Pop(h).(cell)
		if c.off == 0 && reachedBy(regions, wish) >= least {
			return wish, true
		}
		if c.half*math.Sqrt2 < commonEnough {
			return c.at, true
		}
		q := c.half / 2
		for _, s := range [...][2]float64{{-q, -q}, {-q, q}, {q, -q}, {q, q}} {
			push(cell{at: colorcalc.UV{U: c.at.U + s[0], V: c.at.V + s[1]}, half: q, sure: c.sure, open: c.open})
		}
	}
	return colorcalc.UV{}, false
}

func reachedBy(regions []Region, t colorcalc.UV) (n int) {
	for i := range regions {
		if regions[i].Reaches(t) {
			n++
		}
	}
	return n
}

// MostCommon is the greatest number of regions that have a colour in common, and the nearest such colour.
func MostCommon(wish colorcalc.UV, regions []Region) (at colorcalc.UV, most int) {
	lo, hi := 0, len(regions)
	for lo < hi { // fewer can always be had where more can
		k := (lo + hi + 1) / 2
		if c, ok := Common(wish, regions, k); ok {
			at, lo = c, k
		} else {
			hi = k - 1
		}
	}
	return at, lo
}

// cell is a square of the chromaticity diagram.
type cell struct {
	at   colorcalc.UV // its middle
	half float64      // of its side
	off  float64      // of its nearest point from the wish
	sure int          // regions that it lies in wholly
	open []int        // regions that it may lie in partly
}

// cells is a heap of them, nearest first.
type cells struct {
	all  []cell
	seen int
}

func (h *cells) Len() int           { return len(h.all) }
func (h *cells) Less(i, j int) bool { return h.all[i].off < h.all[j].off }
func (h *cells) Swap(i, j int)      { h.all[i], h.all[j] = h.all[j], h.all[i] }
func (h *cells) Push(c any)         { h.all = append(h.all, c.(cell)) }
func (h *cells) Pop() any {
	c := h.all[len(h.all)-1]
	h.all = h.all[:len(h.all)-1]
	return c
}
