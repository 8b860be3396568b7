package safety

import "math"

// darkBelow is the light, as a fraction of full, below which a head has no
// colour worth the name; the last one is kept.
const darkBelow = 0.002

// hover is how far, in u'v', a crossing of the border of saturated red must
// lead to be seen at all: a mixture that stands on the border is no swing.
const hover = 0.01

// unknownU, unknownV stand in for an emitter whose colour nobody gave: the
// colour of a deep red one.
const unknownU, unknownV = 0.53, 0.517

// redness is R/(R+G+B) in linear sRGB (IEC 61966-2-1) of tristimulus values.
func redness(x, y, z float64) float64 {
	r := 3.2406*x - 1.5372*y - 0.4986*z
	g := -0.9689*x + 1.8758*y + 0.0415*z
	b := 0.0557*x - 0.2040*y + 1.0570*z
	g, b = max(g, 0), max(b, 0)
	if r <= 0 {
		return 0
	}
	return r / (r + g + b)
}

// tristimulus of a light of luminance w at u'v' (CIE 15:2018, 8.2.1 inverted).
func tristimulus(w, u, v float64) (x, y, z float64) {
	return w * 9 * u / (4 * v), w, w * (12 - 3*u - 20*v) / (4 * v)
}

// reds finds the transitions to and from saturated red. The rule counts pairs of
// states that are 0.2 apart in u'v', with the border between them; the governor keeps
// only the extreme of each side and not the whole path. So it counts from the
// crossing on, in every frame that moves, until the extremes are 0.2 apart for
// sure: some frame of these is the one that the rule means.
type reds struct {
	known, red bool
	far        bool    // the transition is complete
	u, v       float64 // the reddest state while red, the least red one while not
	ratio      float64
	pu, pv     float64 // the extreme on the other side, before the crossing
}

// see takes the next mixture and returns +1 for a transition to red, -1 for
// one from it.
func (c *reds) see(x, y, z float64) int8 {
	sum := x + 15*y + 3*z
	if !(sum > 0) {
		return 0
	}
	u, v := 4*x/sum, 9*y/sum
	ratio := redness(x, y, z)
	red := ratio >= RedRatio-near
	switch {
	case !c.known:
		*c = reds{known: true, red: red, far: true, u: u, v: v, ratio: ratio}
		return 0
	case red != c.red:
		if apart(u, v, c.u, c.v) < hover {
			return 0
		}
		*c = reds{known: true, red: red, u: u, v: v, ratio: ratio, pu: c.u, pv: c.v}
	case red == (ratio > c.ratio): // further from the border
		c.u, c.v, c.ratio = u, v, ratio
	}
	if c.far {
		return 0
	}
	c.far = apart(u, v, c.pu, c.pv) > RedDistance+0.002
	if red {
		return 1
	}
	return -1
}

func apart(u, v, pu, pv float64) float64 { return math.Hypot(u-pu, v-pv) }
