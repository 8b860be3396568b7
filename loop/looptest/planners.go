package looptest

import "math"

// chord moves by what is missing, as if the profile's plane had the right
// scale: Newton's step with the Jacobian fixed at the profile's. With learn it
// keeps a Jacobian of its own and corrects it by Broyden's rank-one update
// (Broyden 1965, "good" method).
type chord struct {
	t     vec
	learn bool
	j     [4]float64 // of the light after q: u/u, u/v, v/u, v/v
	q, m  vec        // the last station
	any   bool
}

func (c *chord) start(t vec, _ float64) { c.t, c.j = t, [4]float64{1, 0, 0, 1} }
func (c *chord) probing() bool          { return false }

func (c *chord) next(q, m vec) vec {
	if c.learn && c.any {
		c.j = broyden(c.j, sub(q, c.q), sub(m, c.m))
	}
	c.q, c.m, c.any = q, m, true
	return along(q, 1, solve2(c.j, sub(c.t, m)))
}

// broyden updates j so that j s = y with the least change.
func broyden(j [4]float64, s, y vec) [4]float64 {
	n := s.U*s.U + s.V*s.V
	if n < 1e-8 { // too short a step says more about noise than about the lamp
		return j
	}
	eu, ev := y.U-j[0]*s.U-j[1]*s.V, y.V-j[2]*s.U-j[3]*s.V
	k := [4]float64{j[0] + eu*s.U/n, j[1] + eu*s.V/n, j[2] + ev*s.U/n, j[3] + ev*s.V/n}
	if math.Abs(k[0]*k[3]-k[1]*k[2]) < 0.1 {
		return j
	}
	return k
}

// solve2 solves j x = b; a Jacobian that is all but singular counts as 1.
func solve2(j [4]float64, b vec) vec {
	d := j[0]*j[3] - j[1]*j[2]
	if math.Abs(d) < 0.05 {
		return b
	}
	return vec{U: (j[3]*b.U - j[1]*b.V) / d, V: (j[0]*b.V - j[2]*b.U) / d}
}

// newton measures its Jacobian by two probes of probeStep beside the point,
// once or before every step, then steps.
type newton struct {
	t     vec
	each  bool
	have  bool
	phase int // 0 = at the base, 1 and 2 = probes
	base  vec
	at    vec // light at the base
	j     [4]float64
}

const probeStep = 0.008

func (n *newton) start(t vec, _ float64) { n.t = t }
func (n *newton) probing() bool          { return n.phase > 0 }

func (n *newton) next(q, m vec) vec {
	switch n.phase {
	case 0:
		n.base, n.at = q, m
		if n.have && !n.each {
			break
		}
		n.phase = 1
		return along(q, probeStep, vec{U: 1})
	case 1:
		d := sub(m, n.at)
		n.j[0], n.j[2] = d.U/probeStep, d.V/probeStep
		n.phase = 2
		return along(n.base, probeStep, vec{V: 1})
	case 2:
		d := sub(m, n.at)
		n.j[1], n.j[3] = d.U/probeStep, d.V/probeStep
		n.phase, n.have = 0, true
	}
	return along(n.base, 1, solve2(n.j, sub(n.t, n.at)))
}

// simplex is Nelder and Mead's method (1965) with the usual coefficients, on the
// distance from the target.
type simplex struct {
	t    vec
	pts  []vec
	cost []float64
	mode byte // 'i' initial, 'r' reflected, 'e' expanded, 'c' contracted, 's' shrinking
	refl vec
	rc   float64
	todo []vec
}

func (s *simplex) start(t vec, _ float64) { s.t, s.mode = t, 'i' }
func (s *simplex) probing() bool          { return s.mode == 'i' || s.mode == 's' }

func (s *simplex) next(q, m vec) vec {
	c := m.Dist(s.t)
	switch s.mode {
	case 'i', 's':
		s.pts, s.cost = append(s.pts, q), append(s.cost, c)
		if s.mode == 'i' && len(s.pts) == 1 {
			s.todo = []vec{along(q, 0.012, vec{U: 1}), along(q, 0.012, vec{V: 1})}
		}
		if len(s.todo) > 0 {
			n := s.todo[0]
			s.todo = s.todo[1:]
			return n
		}
	case 'r':
		s.refl, s.rc = q, c
		if c < s.cost[0] {
			s.mode = 'e'
			return s.toward(2)
		}
		if c < s.cost[1] {
			s.replace(q, c)
			break
		}
		s.mode = 'c'
		if c < s.cost[2] {
			return s.toward(0.5)
		}
		return s.toward(-0.5)
	case 'e':
		if c < s.rc {
			s.replace(q, c)
		} else {
			s.replace(s.refl, s.rc)
		}
	case 'c':
		if c < min(s.rc, s.cost[2]) {
			s.replace(q, c)
			break
		}
		s.sort()
		s.todo = []vec{along(s.pts[0], 0.5, sub(s.pts[1], s.pts[0])), along(s.pts[0], 0.5, sub(s.pts[2], s.pts[0]))}
		s.pts, s.cost, s.mode = s.pts[:1], s.cost[:1], 's'
		n := s.todo[0]
		s.todo = s.todo[1:]
		return n
	}
	s.mode = 'r'
	s.sort()
	return s.toward(1)
}

// toward is the point k beyond the middle of the two best, away from the worst.
func (s *simplex) toward(k float64) vec {
	mid := along(s.pts[0], 0.5, sub(s.pts[1], s.pts[0]))
	return along(mid, k, sub(mid, s.pts[2]))
}

func (s *simplex) replace(q vec, c float64) { s.pts[2], s.cost[2] = q, c }

func (s *simplex) sort() {
	for i := range s.pts {
		for j := i; j > 0 && s.cost[j] < s.cost[j-1]; j-- {
			s.cost[j], s.cost[j-1] = s.cost[j-1], s.cost[j]
			s.pts[j], s.pts[j-1] = s.pts[j-1], s.pts[j]
		}
	}
}

// person turns one knob at a time: along the axis that is further off, by what
// is missing there as the last turns taught, until the other axis is further
// off. The axes are those of a lighting person: along the whites, and across.
type person struct {
	t    vec
	tol  float64
	gain [2]float64 // light gained per turn, for each axis
	axis int
	q, m vec
	any  bool
}

func (p *person) start(t vec, tol float64) {
	p.t, p.tol, p.gain = t, tol, [2]float64{1, 1}
	p.axis = 0
}
func (p *person) probing() bool { return false }

// dir is a unit vector: 0 warm to cold near the middle of the whites, 1 green.
func (p *person) dir(axis int) vec {
	if axis == 0 {
		return vec{U: -0.66, V: -0.75}
	}
	return vec{U: -0.75, V: 0.66}
}

func dot(a, b vec) float64 { return a.U*b.U + a.V*b.V }

func (p *person) next(q, m vec) vec {
	if p.any {
		d := p.dir(p.axis)
		turned, gained := dot(sub(q, p.q), d), dot(sub(m, p.m), d)
		if math.Abs(turned) > 0.001 {
			p.gain[p.axis] = min(max(gained/turned, 0.4), 2.5)
		}
	}
	p.q, p.m, p.any = q, m, true
	miss := sub(p.t, m)
	off := [2]float64{dot(miss, p.dir(0)), dot(miss, p.dir(1))}
	// Stay with the knob in hand until its axis is good, then take the other.
	if math.Abs(off[p.axis]) < 0.5*p.tol || math.Abs(off[1-p.axis]) > 3*math.Abs(off[p.axis]) {
		p.axis = 1 - p.axis
	}
	return along(q, off[p.axis]/p.gain[p.axis], p.dir(p.axis))
}
