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
	pm := m.m.(*planeModel)
	looks := m.looks()
	if m.hitsHere() < 0.5 || len(m.taken) == 1 && m.worstMaha > misfit {
		return m.again(p, "the last reading did not fit: read it again")
	}
	mem := m.recall(looks)
	best, at := m.bestLook(mem, looks)
	if m.visits < seekLooks {
		if pl, gain, chance := m.promising(pm, mem, best); chance > seekChance && !slices.Equal(pl.drive, m.drive) {
			m.visits++
			return m.moveTo(pl, fmt.Sprintf("the target looks out of reach: a look where the light may come nearer, by %s on average", milli(gain)))
		}
	}
	if silent, _ := m.silent(); silent && !m.wentFar {
		m.wentFar = true
		return m.moveTo(m.middle(pm), "no step was answered: a look in the middle of the range, to see whether the lamp answers at all")
	}
	if here := looks[at]; !slices.Equal(here.drive, m.drive) && m.idle == 0 && m.allowed(here.drive) {
		m.idle++
		return m.moveTo(plan{drive: slices.Clone(here.drive), d: slices.Clone(here.d), err: best}, "back to the nearest point that was read")
	}
	if p > mayLand && m.readsHere() < lastReads {
		return m.again(p, "this may be within tolerance after all: one more reading")
	}
	return m.declare(p)
}

// bestLook is the distance of the nearest drive read so far, as remembered, and
// which it is.
func (m *Match) bestLook(mem *memory, looks []look) (best float64, at int) {
	best = math.Inf(1)
	for i := range looks {
		u, v, _ := mem.at(looks[i].d)
		if d := math.Hypot(u-m.target.UV.U, v-m.target.UV.V); d < best {
			best, at = d, i
		}
	}
	return best, at
}

// promising finds the drive with the largest expected gain over best.
func (m *Match) promising(pm *planeModel, mem *memory, best float64) (pl plan, gain, chance float64) {
	ch := pm.law.channels()
	lo, hi := m.box(ch)
	d := slices.Clone(m.now)
	hope := func(q [2]float64) float64 {
		for k, c := range ch {
			d[c] = q[k]
		}
		u, v, s2 := mem.at(d)
		s := math.Sqrt(s2)
		z := (best - math.Hypot(u-m.target.UV.U, v-m.target.UV.V)) / s
		return s * (z*phi(z) + math.Exp(-z*z/2)/math.Sqrt(2*math.Pi))
	}
	var top [2]float64
	most := -1.0
	first := make([]float64, 0, seekGrid+1)
	for i := range seekGrid + 1 {
		first = append(first, lo[0]+(hi[0]-lo[0])*float64(i)/seekGrid)
	}
	if l, ok := pm.law.(*cctLaw); ok && len(l.s.Steps) > 0 {
		first = l.detents(lo[0], hi[0])
	}
	for _, a := range first {
		for k := range seekGrid + 1 {
			q := [2]float64{a, lo[1] + (hi[1]-lo[1])*float64(k)/seekGrid}
			if g := hope(q); g > most {
				most, top = g, q
			}
			if len(ch) == 1 {
				break
			}
		}
	}
	least := func(q [2]float64) float64 { return -hope(q) }
	top, most = pattern(least, top, -most, lo, hi, len(ch))
	for k, c := range ch {
		d[c] = top[k]
	}
	pl = plan{drive: slices.Clone(m.drive), d: d}
	for i, c := range m.spec.Channels {
		pl.drive[i] = codeOf(c, d[i])
		pl.d[i] = float64(pl.drive[i]) / float64(c.Max)
	}
	u, v, s2 := mem.at(pl.d)
	pl.err = math.Hypot(u-m.target.UV.U, v-m.target.UV.V)
	return pl, -most, phi((best - m.target.Tol - pl.err) / math.Sqrt(s2))
}

// middle is the drive with both parameters in the middle of their range.
func (m *Match) middle(pm *planeModel) plan {
	ch := pm.law.channels()
	lo, hi := m.box(ch)
	pl := plan{drive: slices.Clone(m.drive), d: slices.Clone(m.now)}
	for k, c := range ch {
		pl.drive[c] = codeOf(m.spec.Channels[c], (lo[k]+hi[k])/2)
		pl.d[c] = float64(pl.drive[c]) / float64(m.spec.Channels[c].Max)
	}
	return pl
}

// box is the allowed range of the parameters as fractions.
func (m *Match) box(ch []int) (lo, hi [2]float64) {
	for k, c := range ch {
		s := m.spec.Channels[c]
		lo[k], hi[k] = float64(s.Lo)/float64(s.Max), float64(s.Hi)/float64(s.Max)
	}
	return lo, hi
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
	out := plan{drive: slices.Clone(m.drive), d: slices.Clone(m.now)}
	for i, c := range m.spec.Channels {
		out.drive[i] = codeOf(c, (b.d[i]+m.now[i])/2)
		out.d[i] = float64(out.drive[i]) / float64(c.Max)
	}
	mem := m.recall(m.looks())
	u, v, _ := mem.at(out.d)
	out.err = math.Hypot(u-m.target.UV.U, v-m.target.UV.V)
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
	pm := m.m.(*planeModel)
	looks := m.looks()
	mem := m.recall(looks)
	u, v, s2 := mem.at(pl.d)
	if math.Hypot(u-m.target.UV.U, v-m.target.UV.V) < pl.err+2*math.Sqrt(s2) {
		return pl
	}
	ch := pm.law.channels()
	lo, hi := m.box(ch)
	d := slices.Clone(m.now)
	miss := func(q [2]float64) float64 {
		for k, c := range ch {
			d[c] = q[k]
		}
		u, v, _ := mem.at(d)
		return math.Hypot(u-m.target.UV.U, v-m.target.UV.V)
	}
	best, top := [2]float64{}, math.Inf(1)
	try := func(d []float64) {
		var q [2]float64
		for k, c := range ch {
			q[k] = d[c]
		}
		if q, v := pattern(miss, q, miss(q), lo, hi, len(ch)); v < top {
			best, top = q, v
		}
	}
	try(pl.d)
	_, at := m.bestLook(mem, looks)
	try(looks[at].d)
	e := &planeSolver{m: pm, s: &m.spec}
	return e.quantise(miss, best, slices.Clone(pl.d))
}
