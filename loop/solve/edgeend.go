package solve

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"trueup/colorcalc"
)

// maxStates bounds the state of the largest model.
const maxStates = 3*maxEmitters + extraStates

// cholesky fills l with the lower factor of p; pivots below the noise of the
// arithmetic count as zero.
func cholesky(p, l []float64, n int) {
	clear(l)
	for j := range n {
		s := p[j*n+j]
		for k := range j {
			s -= l[j*n+k] * l[j*n+k]
		}
		if !(s > 1e-18) {
			continue
		}
		d := math.Sqrt(s)
		l[j*n+j] = d
		for i := j + 1; i < n; i++ {
			s := p[i*n+j]
			for k := range j {
				s -= l[i*n+k] * l[j*n+k]
			}
			l[i*n+j] = s / d
		}
	}
}

// declare ends a match out of reach, unless a drive was read that is better
// than this one: then it goes back there and looks again.
func (m *Match) declare(p float64) Decision {
	if b, ok := m.bestRead(); ok && !m.back {
		m.back = true
		return m.moveTo(b, "an earlier drive was read nearer to the target: back there to look again")
	}
	uv, _ := m.estimate()
	dist := uv.Dist(m.target.UV)
	why := fmt.Sprintf("out of reach: nearest point %s off, %s", milli(dist), m.direction(uv))
	d := m.done(OutOfReach, p, why)
	return d
}

// bestRead is the drive with the nearest mean reading, if it beats the present
// one by more than noise.
func (m *Match) bestRead() (plan, bool) {
	type station struct {
		t    taken
		u, v float64
		n    float64
	}
	var all []station
	for _, t := range m.taken {
		if t.verdict != Accepted {
			continue
		}
		k := len(all) - 1
		if k < 0 || !slices.Equal(all[k].t.r.Drive, t.r.Drive) {
			all = append(all, station{t: t})
			k++
		}
		all[k].u += t.r.UV.U
		all[k].v += t.r.UV.V
		all[k].n++
	}
	if len(all) == 0 {
		return plan{}, false
	}
	dist := func(s station) float64 {
		return math.Hypot(s.u/s.n-m.target.UV.U, s.v/s.n-m.target.UV.V)
	}
	uv, _ := m.estimate()
	here := uv.Dist(m.target.UV)
	sort.SliceStable(all, func(i, j int) bool { return dist(all[i]) < dist(all[j]) })
	b := all[0]
	noise := m.noiseHere()
	slack := goBack + 2*math.Sqrt((noise.uu+noise.vv)/2/b.n)
	if slices.Equal(b.t.r.Drive, m.drive) || dist(b)+slack > here {
		return plan{}, false
	}
	if !m.allowed(b.t.r.Drive) {
		return plan{}, false
	}
	return plan{drive: b.t.r.Drive, d: b.t.d, err: dist(b)}, true
}

// allowed reports whether a drive may be sent: what was read once may be out of
// bounds since.
func (m *Match) allowed(d Drive) bool {
	for i, c := range m.spec.Channels {
		if d[i] < c.Lo || d[i] > c.Hi {
			return false
		}
	}
	return true
}

// spent ends a match whose budget of readings is used up.
func (m *Match) spent(p float64) Decision {
	uv, c := m.estimate()
	if m.lastPlan.err > 0.6*m.target.Tol {
		return m.declare(p)
	}
	why := fmt.Sprintf("unsettled: after %d readings %s off, give or take %s", m.readings, milli(uv.Dist(m.target.UV)), milli(2*c.sd()))
	if why2 := m.unsettledBy(); why2 != "" {
		why += "; " + why2
	}
	return m.done(Unsettled, p, why)
}

// direction says where the reachable light lies from the target, in the words
// of white light near the locus, else as u'v'.
func (m *Match) direction(uv colorcalc.UV) string {
	return colourWords(m.target.UV, uv)
}
