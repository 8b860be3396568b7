package looptest

import (
	"cmp"
	"math"
	"slices"

	"trueup/colorcalc"
)

// nearest is the smallest true distance from the target that any codes within
// the channels' ranges give, as warm as the lamp is now: the best that anybody
// could have done. It searches the real codes, from many starts, by steps that
// halve down to one code.
func (w *World) nearest(t colorcalc.UV) float64 {
	best := math.Inf(1)
	for _, s := range w.starts(t) {
		best = min(best, w.descend(s, t))
	}
	return best
}

// starts spans the box: corners of pairs for emitters, a lattice for engines,
// and where the lamp stands.
func (w *World) starts(t colorcalc.UV) [][]uint32 {
	ch := w.Case.Spec.Channels
	at := func(f ...float64) []uint32 {
		c := make([]uint32, len(ch))
		for i := range ch {
			c[i] = ch[i].Lo + uint32(math.Round(f[i]*float64(ch[i].Hi-ch[i].Lo)))
		}
		return c
	}
	out := [][]uint32{slices.Clone(w.sent)}
	if w.Case.Spec.CCT != nil || w.Case.Spec.XY != nil || w.Case.Spec.HueSat != nil {
		const n = 33
		for i := range n {
			for j := range n {
				out = append(out, at(float64(i)/(n-1), float64(j)/(n-1)))
			}
		}
		// Descents start from the best few of the lattice.
		slices.SortFunc(out, func(a, b []uint32) int { return cmp.Compare(w.Would(a).Dist(t), w.Would(b).Dist(t)) })
		return out[:8]
	}
	n := len(ch)
	for i := range n {
		for j := i + 1; j < n; j++ {
			f := make([]float64, n)
			f[i], f[j] = 1, 1
			out = append(out, at(f...))
			f[j] = 0.5
			out = append(out, at(f...))
			f[i], f[j] = 0.5, 1
			out = append(out, at(f...))
		}
	}
	return out
}

// slants are the directions in a pair of channels along which a valley may lie.
var slants = [][2]int64{{1, 1}, {1, -1}, {1, 2}, {2, 1}, {1, -2}, {2, -1}, {1, 4}, {4, 1}, {1, -4}, {4, -1}}

// descend walks along one channel and along pairs of channels.
func (w *World) descend(c []uint32, t colorcalc.UV) float64 {
	ch := w.Case.Spec.Channels
	cost := func() float64 { return w.Would(c).Dist(t) }
	best := cost()
	if math.IsNaN(best) {
		return math.Inf(1)
	}
	try := func(i, j int, di, dj int64) bool {
		oi, oj := c[i], c[j]
		c[i] = uint32(min(max(int64(oi)+di, int64(ch[i].Lo)), int64(ch[i].Hi)))
		if j != i {
			c[j] = uint32(min(max(int64(oj)+dj, int64(ch[j].Lo)), int64(ch[j].Hi)))
		}
		if v := cost(); v < best-1e-9 {
			best = v
			return true
		}
		c[i], c[j] = oi, oj
		return false
	}
	for step := int64(ch[0].Max) / 8; step >= 1; step /= 2 {
		for moved, rounds := true, 0; moved && rounds < 12; rounds++ {
			moved = false
			for i := range c {
				moved = try(i, i, step, 0) || try(i, i, -step, 0) || moved
				for j := i + 1; j < len(c); j++ {
					for _, d := range slants {
						moved = try(i, j, d[0]*step, d[1]*step) || try(i, j, -d[0]*step, -d[1]*step) || moved
					}
				}
			}
		}
	}
	return best
}
