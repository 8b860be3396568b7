package solve

import (
	"fmt"
	"math"
	"slices"

	"trueup/loop/solve/estimate"
	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
	"trueup/loop/solve/plan"
)

// seek is the edge of engines: once the law saw no way to the target, the residuals
// of all drives read so far are asked too, by a Gaussian process.
type seek struct {
	engine  *model.Engine
	planner *plan.Engine
}

// process fits a Gaussian process to all readings, by drive.
func (s *seek) process(m *Match) *estimate.Process {
	var points []estimate.Point
	for i := range m.log.taken {
		t := &m.log.taken[i]
		k := slices.IndexFunc(points, func(q estimate.Point) bool { return slices.Equal(q.Codes, t.r.Drive) })
		if k < 0 {
			points = append(points, estimate.Point{Codes: t.r.Drive, D: t.d})
			k = len(points) - 1
		}
		o := m.obs(&t.r)
		points[k].Add(&o, t.verdict == Accepted)
	}
	return estimate.NewProcess(s.engine, m.sum.Nominal, points, m.target.UV)
}

// trusted is the process while seeking.
func (s *seek) trusted(m *Match) *estimate.Process {
	if m.search.phase != seeking {
		return nil
	}
	return s.process(m)
}

// mustAnswer is so unless the search is past the range and has not tried its middle.
func (s *seek) mustAnswer(m *Match) bool {
	return m.search.phase != seeking || m.search.count[wentMiddle] > 0
}

// proceed checks a plan of the law against the process while seeking, goes half the
// way back from a move that failed, and seeks where the law sees no way.
func (s *seek) proceed(m *Match, pl plan.Plan, p float64) Decision {
	if m.search.count[past] == 0 && m.pastRange() {
		m.search.on(past)
	}
	if m.search.count[past] > 0 {
		return s.improve(m, p)
	}
	if m.search.phase == seeking {
		if m.sum.Accepted() < mostAccepted {
			return m.again(p, "the last reading did not fit: reading again")
		}
		pl = s.checked(m, pl)
	} else if b, ok := s.halfBack(m); ok {
		m.search.on(halved)
		if m.search.count[halved] > setbacks {
			return m.jumpy(p)
		}
		return m.moveTo(b, "the light moved away from the target: half the way back to the nearest setting read")
	}
	if !pl.Reaches(m.target.Tol) {
		return s.improve(m, p)
	}
	return m.weigh(pl, p)
}

// improve goes where the expected gain over the best drive read so far is largest
// (expected improvement: Mockus 1974; Jones, Schonlau and Welch 1998), until no
// drive promises anything.
func (s *seek) improve(m *Match, p float64) Decision {
	if m.sum.Accepted() < mostAccepted || len(m.log.taken) == 1 && m.fault.worst > misfit {
		return m.again(p, "the last reading did not fit: reading again")
	}
	gp := s.process(m)
	near, best := gp.Nearest()
	if m.search.count[looked] < seekLooks {
		if pl, ei, chance := s.promising(m, gp, best); chance > m.least(best) && !slices.Equal(pl.Codes, m.stand.codes) {
			m.search.on(looked)
			return m.moveTo(pl, fmt.Sprintf("the target looks out of reach: trying a setting that may come nearer, by %s on average", milli(ei)))
		}
	}
	if m.search.count[looked] < seekLooks {
		if pl, chance := s.beside(m, gp, near, best); chance > m.least(best) {
			m.search.on(looked)
			return m.moveTo(pl, m.text.begin("the target looks out of reach: trying the setting beside the nearest one that may come nearer (").percent(chance, 0).words(" %)").String())
		}
	}
	if silent, _ := m.silent(); silent && m.search.count[wentMiddle] == 0 {
		m.search.on(wentMiddle)
		return m.moveTo(s.middle(m), "the light did not respond to any step: trying the middle of the range, to see whether it responds at all")
	}
	if near.Codes != nil && !slices.Equal(near.Codes, m.stand.codes) && m.search.count[stayed] == 0 && m.allowed(near.Codes) {
		m.search.on(stayed)
		return m.moveTo(plan.Plan{Codes: near.Codes, D: near.D, Err: best}, "back to the nearest point read")
	}
	return m.declare(p)
}

// promising finds the drive with the largest expected improvement over best: for a
// predicted distance off with standard deviation s and z = (best - off)/s,
//
//	EI = s (z Phi(z) + phi(z))
//
// It returns that drive, its expected improvement, and the chance that it comes
// nearer by a tolerance, or lands.
func (s *seek) promising(m *Match, gp *estimate.Process, best float64) (pl plan.Plan, ei, chance float64) {
	ch := s.engine.Channels()
	lo, hi := s.engine.Box()
	negEI := s.over(m, func(d []float64) float64 { // negative: Pattern minimises
		off, sd := gp.Off(d)
		z := (best - off) / sd
		return -sd * (z*num.Phi(z) + math.Exp(-z*z/2)/math.Sqrt(2*math.Pi))
	})
	first := s.engine.Detents(lo[0], hi[0])
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
			if g := negEI(q); g < least {
				least, top = g, q
			}
			if len(ch) == 1 {
				break
			}
		}
	}
	top, least = plan.Pattern(negEI, top, least, lo, hi, len(ch))
	pl = plan.Round(&m.spec, s.with(m, top))
	off, sd := gp.Off(pl.D)
	pl.Err = off
	return pl, -least, num.Phi((best - m.wanted(best) - off) / sd)
}

// beside is the setting within a code or two of the nearest point read, on a coarse lattice, that is likeliest to come nearer by what is
// worth a look, of those that were not read; the chance is 0 where there is none.
func (s *seek) beside(m *Match, gp *estimate.Process, near estimate.Point, best float64) (pl plan.Plan, chance float64) {
	ch := s.engine.Channels()
	if near.Codes == nil || !slices.ContainsFunc(ch, m.coarse) {
		return pl, 0
	}
	var at [2]int
	for at[0] = -besideCodes; at[0] <= besideCodes; at[0]++ {
		for at[1] = -besideCodes; at[1] <= besideCodes; at[1]++ {
			if len(ch) == 1 && at[1] != 0 {
				continue
			}
			codes, ok := slices.Clone(near.Codes), true
			for k, c := range ch {
				to := int64(codes[c]) + int64(at[k])
				ok = ok && to >= int64(m.spec.Channels[c].Lo) && to <= int64(m.spec.Channels[c].Hi)
				codes[c] = uint32(max(to, 0))
			}
			if !ok || !m.allowed(codes) || m.log.read(codes) {
				continue
			}
			d := m.fractions(codes)
			off, sd := gp.Off(d)
			if p := num.Phi((best - m.wanted(best) - off) / sd); p > chance {
				chance, pl = p, plan.Plan{Codes: codes, D: d, Err: off}
			}
		}
	}
	return pl, chance
}

// coarse tells whether a step of a channel's code may show in the light.
func (m *Match) coarse(channel int) bool { return m.spec.Channels[channel].Max < coarseCodes }

// wanted is the gain over the best drive read so far, so far off, that is worth a look: a tolerance, or less where less lands.
func (m *Match) wanted(best float64) float64 {
	return min(m.target.Tol, max(best-edgeLands*m.target.Tol, edgeGain*m.target.Tol))
}

// least is the chance of that from which on a look is made: to land takes but a little where the best is near, and a look that
// fails costs as much.
func (m *Match) least(best float64) float64 {
	if m.wanted(best) < m.target.Tol {
		return landChance
	}
	return seekChance
}

// with is the present drive with other parameters.
func (s *seek) with(m *Match, q [2]float64) []float64 {
	d := slices.Clone(m.stand.d)
	for k, c := range s.engine.Channels() {
		d[c] = q[k]
	}
	return d
}

// over makes a function of a drive one of its parameters, the rest as it stands.
func (s *seek) over(m *Match, f func(d []float64) float64) func([2]float64) float64 {
	d := slices.Clone(m.stand.d)
	return func(q [2]float64) float64 {
		for k, c := range s.engine.Channels() {
			d[c] = q[k]
		}
		return f(d)
	}
}

// middle is the drive with both parameters in the middle of their range.
func (s *seek) middle(m *Match) plan.Plan {
	lo, hi := s.engine.Box()
	return plan.Round(&m.spec, s.with(m, [2]float64{(lo[0] + hi[0]) / 2, (lo[1] + hi[1]) / 2}))
}

// checked checks a plan of the law against the process, and where the two do
// not agree gives the drive that the process sees nearest to the target.
func (s *seek) checked(m *Match, pl plan.Plan) plan.Plan {
	gp := s.process(m)
	if off, sd := gp.Off(pl.D); off < pl.Err+checkedOff*sd {
		return pl
	}
	ch := s.engine.Channels()
	lo, hi := s.engine.Box()
	miss := s.over(m, func(d []float64) float64 { off, _ := gp.Off(d); return off })
	near, _ := gp.Nearest()
	best, top := [2]float64{}, math.Inf(1)
	for _, from := range [][]float64{pl.D, near.D} {
		if from == nil {
			continue
		}
		var q [2]float64
		for k, c := range ch {
			q[k] = from[c]
		}
		if q, v := plan.Pattern(miss, q, miss(q), lo, hi, len(ch)); v < top {
			best, top = q, v
		}
	}
	return s.planner.Quantise(miss, best, pl.D)
}
