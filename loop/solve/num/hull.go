package num

import (
	"math"
	"slices"

	"trueup/colorcalc"
)

// Hull is the convex hull of points, counter-clockwise (monotone chain, Andrew
// 1979).
func Hull(pts []colorcalc.UV) []colorcalc.UV {
	p := slices.Clone(pts)
	if len(p) < 3 {
		return p
	}
	slices.SortFunc(p, func(a, b colorcalc.UV) int {
		if a.U != b.U {
			if a.U < b.U {
				return -1
			}
			return 1
		}
		if a.V < b.V {
			return -1
		}
		return 1
	})
	cross := func(o, a, b colorcalc.UV) float64 { return (a.U-o.U)*(b.V-o.V) - (a.V-o.V)*(b.U-o.U) }
	var h []colorcalc.UV
	for range 2 {
		base := len(h)
		for _, q := range p {
			for len(h) >= base+2 && cross(h[len(h)-2], h[len(h)-1], q) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, q)
		}
		h = h[:len(h)-1]
		slices.Reverse(p)
	}
	return h
}

// Into moves q to the nearest point of the polygon h, if it lies outside.
func Into(h []colorcalc.UV, q colorcalc.UV) colorcalc.UV {
	inside, best, at := true, math.Inf(1), q
	for i, a := range h {
		b := h[(i+1)%len(h)]
		eu, ev := b.U-a.U, b.V-a.V
		if eu*(q.V-a.V)-ev*(q.U-a.U) < 0 {
			inside = false
		}
		s := Clamp(((q.U-a.U)*eu+(q.V-a.V)*ev)/(eu*eu+ev*ev), 0, 1)
		p := colorcalc.UV{U: a.U + s*eu, V: a.V + s*ev}
		if d := p.Dist(q); d < best {
			best, at = d, p
		}
	}
	if inside {
		return q
	}
	return at
}
