package solve

import (
	"fmt"
	"math"
	"slices"
)

// Figures of the search for the nearest point of a mode with two parameters.
const (
	seekGrid   = 16   // intervals of the coarse lattice along each parameter
	seekChance = 0.03 // of a gain of a tolerance, below which no drive is worth a look
	seekLooks  = 7    // moves after which the best of all is taken
	setback    = 2.0  // tolerances further off than a drive read before
	setbacks   = 4    // after which the lamp is called jumpy
	lastReads  = 6    // at the nearest drive, as long as it may be inside
	mayLand    = 0.2  // chance to be inside from which "out of reach" is not said yet
)

// seek looks for the nearest point of a mode with two parameters where the
// target is out of reach: it goes where the expected gain over the best drive
// read so far is largest (expected improvement: Mockus 1974; Jones, Schonlau and
// Welch 1998), until no drive promises anything.
func (m *Match) seek(p float64) Decision {
	if m.hitsHere() < 0.5 || len(m.taken) == 1 && m.worstMaha > misfit {
		return m.again(p, "the last reading did not fit: read it again")
	}
	mem := m.recall()
	near, best := mem.best()
	if m.visits < seekLooks {
		if pl, gain, chance := m.promising(mem, best); chance > seekChance && !slices.Equal(pl.drive, m.drive) {
			m.visits++
			return m.moveTo(pl, fmt.Sprintf("the target looks out of reach: a look where the light may come nearer, by %s on average", milli(gain)))
		}
	}
	if silent, _ := m.silent(); silent && !m.wentFar {
		m.wentFar = true
		return m.moveTo(m.middle(mem.pm), "no step was answered: a look in the middle of the range, to see whether the lamp answers at all")
	}
	if !slices.Equal(near.drive, m.drive) && m.idle == 0 && m.allowed(near.drive) {
		m.idle++
		return m.moveTo(plan{drive: near.drive, d: near.d, err: best}, "back to the nearest point that was read")
	}
	if p > mayLand && m.readsHere() < lastReads {
		return m.again(p, "this may be within tolerance after all: one more reading")
	}
	return m.declare(p)
}

// promising finds the drive with the largest expected gain over best.
func (m *Match) promising(mem *memory, best float64) (pl plan, gain, chance float64) {
	ch := mem.pm.law.channels()
	lo, hi := m.plan.(*planeSolver).box()
	hope := m.over(ch, func(d []float64) float64 { // negative, for what looks for the least
		off, s := mem.off(d)
		z := (best - off) / s
		return -s * (z*phi(z) + math.Exp(-z*z/2)/math.Sqrt(2*math.Pi))
	})
	first := mem.pm.detents(lo[0], hi[0])
	if len(first) == 0 {
		for i := range seekGrid + 1 {
			first = append(first, lo[0]+(hi[0]-lo[0])*float64(i)/seekGrid)
		}
	}
	var top [2]float64
	least := 1.0
	for _, a := range first {
		for k := range seekGrid + 1 {
			q := [2]float64{a, lo[1] + (hi[1]-lo[1])*float64(k)/seekGrid}
			if g := hope(q); g < least {
				least, top = g, q
			}
			if len(ch) == 1 {
				break
			}
		}
	}
	top, least = pattern(hope, top, least, lo, hi, len(ch))
	pl = m.snap(m.with(ch, top))
	off, s := mem.off(pl.d)
	pl.err = off
	return pl, -least, phi((best - m.target.Tol - off) / s)
}

// with is the present drive with other parameters.
func (m *Match) with(ch []int, q [2]float64) []float64 {
	d := slices.Clone(m.now)
	for k, c := range ch {
		d[c] = q[k]
	}
	return d
}

// over makes a function of a drive one of its parameters, the rest as it stands.
func (m *Match) over(ch []int, f func(d []float64) float64) func([2]float64) float64 {
	d := slices.Clone(m.now)
	return func(q [2]float64) float64 {
		for k, c := range ch {
			d[c] = q[k]
		}
		return f(d)
	}
}

// snap puts a drive on the lattice of allowed codes.
func (m *Match) snap(d []float64) plan {
	pl := plan{drive: make(Drive, len(d)), d: make([]float64, len(d))}
	for i, c := range m.spec.Channels {
		pl.drive[i] = codeOf(c, d[i])
		pl.d[i] = float64(pl.drive[i]) / float64(c.Max)
	}
	return pl
}

// middle is the drive with both parameters in the middle of their range.
func (m *Match) middle(pm *planeModel) plan {
	lo, hi := m.plan.(*planeSolver).box()
	return m.snap(m.with(pm.law.channels(), [2]float64{(lo[0] + hi[0]) / 2, (lo[1] + hi[1]) / 2}))
}

// remembers reports whether the memory is asked beside the law: once the law saw
// no way to the target.
func (m *Match) remembers() bool {
	_, ok := m.m.(*planeModel)
	return ok && m.visits > 0
}

// halfBack plans half the way back to the nearest drive that was read, where the
// last move did not end as the law has it and led further off: backtracking, as
// for any Newton step that fails (Dennis and Schnabel 1983, section 6.3).
func (m *Match) halfBack() (plan, bool) {
	if _, ok := m.m.(*planeModel); !ok || !m.missed || m.remembers() {
		return plan{}, false
	}
	b, ok := m.bestRead()
	uv, _ := m.estimate()
	if !ok || uv.Dist(m.target.UV) < b.err+setback*m.target.Tol {
		return plan{}, false
	}
	half := make([]float64, len(m.now))
	for i := range half {
		half[i] = (b.d[i] + m.now[i]) / 2
	}
	out := m.snap(half)
	out.err, _ = m.recall().off(out.d)
	return out, !slices.Equal(out.drive, m.drive) && !slices.Equal(out.drive, b.drive)
}

// jumpy ends a match whose lamp does not do between two drives what it does at
// both: a mixture that changes its emitters, a table with a step. It goes back to
// the nearest drive that was read, and stays there as long as that may be inside
// the tolerance.
func (m *Match) jumpy(p float64) Decision {
	if b, ok := m.bestRead(); ok && !m.jumped {
		m.jumped = true
		return m.moveTo(b, "the light jumps between neighbouring drives: back to the nearest that was read")
	}
	m.jumped = true
	uv, c := m.estimate()
	off := uv.Dist(m.target.UV)
	if m.idle++; m.hitsHere() < 0.5 || off < m.target.Tol+c.sd() && m.idle <= lastReads {
		return m.again(p, "one more reading at the nearest drive that was read")
	}
	m.cause = Jumps
	return m.done(Unsettled, p, fmt.Sprintf("unsettled: the light jumps between neighbouring drives, and none was read within tolerance; the nearest is %s off, %s", milli(off), m.direction(uv)))
}

// remembered checks a plan of the law against the memory, and where the two do
// not agree gives the drive that the memory sees nearest to the target.
func (m *Match) remembered(pl plan) plan {
	mem := m.recall()
	if off, sd := mem.off(pl.d); off < pl.err+2*sd {
		return pl
	}
	e := m.plan.(*planeSolver)
	ch := mem.pm.law.channels()
	lo, hi := e.box()
	miss := m.over(ch, func(d []float64) float64 { off, _ := mem.off(d); return off })
	near, _ := mem.best()
	best, top := [2]float64{}, math.Inf(1)
	for _, from := range [][]float64{pl.d, near.d} {
		var q [2]float64
		for k, c := range ch {
			q[k] = from[c]
		}
		if q, v := pattern(miss, q, miss(q), lo, hi, len(ch)); v < top {
			best, top = q, v
		}
	}
	return e.quantise(miss, best, pl.d)
}
