package looptest

import (
	"math"
	"slices"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// station averages the readings at one drive: the median keeps a stray one out
// as soon as there are three, and the digits of the last station, said again
// after a move, do not count.
type station struct {
	reads []colorcalc.UV
	last  solve.Reading
	any   bool
	fresh bool // nothing heard since the move
}

func (s *station) moved() { s.reads, s.fresh = s.reads[:0], true }

// take notes a reading and reports whether it counts.
func (s *station) take(r solve.Reading) bool {
	stale := s.fresh && s.any && r.UV == s.last.UV && r.Y == s.last.Y
	s.last, s.any, s.fresh = r, true, false
	if stale {
		return false
	}
	s.reads = append(s.reads, r.UV)
	return true
}

// mean is the mean of what lies within five sigmas of the median, how many that
// are, and whether two readings contradict each other so that a third must tell.
func (s *station) mean(sigma float64) (m colorcalc.UV, n int, torn bool) {
	if len(s.reads) == 0 {
		return m, 0, false
	}
	if len(s.reads) == 2 && s.reads[0].Dist(s.reads[1]) > 7*sigma {
		return s.reads[1], 1, true
	}
	u, v := make([]float64, 0, 16), make([]float64, 0, 16)
	for _, r := range s.reads {
		u, v = append(u, r.U), append(v, r.V)
	}
	mid := colorcalc.UV{U: median(u), V: median(v)}
	for _, r := range s.reads {
		if len(s.reads) > 2 && r.Dist(mid) > 5*sigma {
			continue
		}
		m.U, m.V, n = m.U+r.U, m.V+r.V, n+1
	}
	if n == 0 {
		return mid, 1, false
	}
	return colorcalc.UV{U: m.U / float64(n), V: m.V / float64(n)}, n, false
}

func median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

// confidence is the chance that the truth lies within tol of the target when a
// mean at distance d has standard deviation s for each axis: the Rice
// distribution, summed over rings by the midpoint rule.
func confidence(d, s, tol float64) float64 {
	if s <= 0 {
		if d <= tol {
			return 1
		}
		return 0
	}
	const rings, turns = 24, 24
	p := 0.0
	for i := range rings {
		r := tol * (float64(i) + 0.5) / rings
		for k := range turns {
			a := math.Pi * (float64(k) + 0.5) / turns
			x, y := r*math.Cos(a)-d, r*math.Sin(a)
			p += r * math.Exp(-(x*x+y*y)/(2*s*s))
		}
	}
	return min(p*tol/rings*2*math.Pi/turns/(2*math.Pi*s*s), 1)
}

// verdict of a station.
type verdict int

const (
	readOn verdict = iota
	moveOn
	landed
)

// patience is how many readings a station is worth before moving on.
const patience = 12

// judge is the stopping rule of the usual methods: landed when the mean says so
// with the asked confidence; move when the mean is clearly off or a better
// place is likely; else read on. Naive stops at the first reading within tol.
func (s *station) judge(t solve.Target, o solve.Options, naive bool) (verdict, colorcalc.UV) {
	m, n, torn := s.mean(o.SigmaUV)
	if n == 0 || torn {
		return readOn, m
	}
	d, sd := m.Dist(t.UV), o.SigmaUV/math.Sqrt(float64(n))
	switch {
	case naive && d <= t.Tol:
		return landed, m
	case naive:
		return moveOn, m
	case confidence(d, sd, t.Tol) >= o.Confidence:
		return landed, m
	case d > 0.6*t.Tol && d > 2*sd || n >= patience:
		return moveOn, m
	}
	return readOn, m
}
