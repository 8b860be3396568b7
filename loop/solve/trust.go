package solve

import (
	"fmt"
	"math"
	"slices"
)

// Figures of the suspicions. Each has to be worth stopping a run for.
const (
	unanswered = 2     // moves without an answer
	silentPath = 0.008 // u'v' that those moves should have made together
	bentLaw    = 0.15  // kappa from which the law counts as another
	swapOdds   = 9.0   // ln of evidence for two swapped emitters over all else
	swapFrom   = 2     // readings from which swaps are thought of
	swapTo     = 5
	misfit     = 25.0 // squared Mahalanobis distance of a reading that does not fit
	misfits    = 4    // of those in moves before the mode is doubted
	silentAsks = 8    // requests without any reading
)

// stopped ends a match whose cause was found, or that gets no readings at all.
func (m *Match) stopped() (Decision, bool) {
	m.asks++
	switch {
	case m.asks > silentAsks && m.now == nil, m.asks > 2*silentAsks:
		if m.cause == NoCause {
			m.cause = Dark
		}
		d := m.decision(Done, 0, fmt.Sprintf("unsettled: no usable reading after %d requests: meter covered, lamp dark, or feed lost", m.asks-1))
		d.Outcome = Unsettled
		return d, true
	case m.cause == NotAnswering || m.cause == Swapped:
		d := m.decision(Done, m.inside(), "held: "+m.causeWhy)
		d.Outcome = Held
		return d, true
	}
	return Decision{}, false
}

// suspect looks for a fault behind the readings so far.
func (m *Match) suspect() {
	if m.cause == NotAnswering || m.cause == Swapped {
		return
	}
	silent, quiet := m.silent()
	if silent && (!m.remembers() || m.wentFar) { // past its range an engine is silent by right
		m.cause = NotAnswering
		m.causeWhy = "the light under the meter does not answer to our steps: another lamp under the meter, a wrong address, a dead lamp, or another source that holds these slots"
		return
	}
	if e, ok := m.m.(*emitterModel); ok {
		if n := len(m.taken); n >= swapFrom && n <= swapTo && m.worstMaha > misfit && !quiet {
			if i, j, ok := m.swapped(e); ok {
				m.cause = Swapped
				m.causeWhy = fmt.Sprintf("%s and %s look swapped: the light answers as if each had the other's slot (wrong mode or wrong order in the profile)", m.spec.Emitters[i].Name, m.spec.Emitters[j].Name)
				return
			}
		}
		if h := m.hyps[0]; h.law != 0 && h.w > 0.9 && m.spec.Curve.Law != Unknown {
			m.cause = WrongLaw
			m.causeWhy = fmt.Sprintf("the dimmer law looks %s, not %s as the profile says", lawWord(e.curves[h.law]), lawWord(m.spec.Curve))
			return
		} else if k := 3*e.n + offKappa; h.w > 0.9 && math.Abs(h.x[k]) > bentLaw+2*math.Sqrt(h.p[k*m.f.n+k]) {
			m.cause = WrongLaw
			m.causeWhy = fmt.Sprintf("the dimmer law bends by %+.0f %% more in its exponent than the profile says", 100*math.Expm1(h.x[k]))
			return
		}
	}
	if m.misfits >= misfits {
		m.cause = WrongMode
		m.causeWhy = "the light answers, but not as this mode should: another mode on the fixture's menu, another profile, or a lamp that jumps"
	}
}

// silent reports that the light did not answer to moves that should have shown:
// what all moves together did is no more than noise, and a small part of what
// the profile expected of them. quiet tells that the last move had no answer.
func (m *Match) silent() (silent, quiet bool) {
	path, done, noise, moves := 0.0, 0.0, 0.0, 0
	for k := 1; k < len(m.taken); k++ {
		a, b := &m.taken[k-1], &m.taken[k]
		if slices.Equal(a.r.Drive, b.r.Drive) {
			continue
		}
		var p, q [3]float64
		m.m.predict(m.first.law, m.first.x, a.d, &p, nil)
		m.m.predict(m.first.law, m.first.x, b.d, &q, nil)
		way, went := math.Hypot(p[0]-q[0], p[1]-q[1]), a.r.UV.Dist(b.r.UV)
		o := m.obs(&b.r)
		n := 2 * (o.r.uu + o.r.vv)
		quiet = way*way > 25*n && went*went < math.Max(6*n, 0.01*way*way)
		if a.r.HasY && b.r.HasY && math.Abs(math.Log(b.r.Y/a.r.Y)) > 4*math.Sqrt(2*o.rY) {
			return false, false
		}
		path += way * way
		done += went * went
		noise += n
		moves++
	}
	enough := moves >= unanswered && path > silentPath*silentPath
	if k := len(m.taken); moves == 1 && k >= 3 { // one long move, looked at twice
		enough = path > 6*silentPath*silentPath && slices.Equal(m.taken[k-1].d, m.taken[k-2].d) ||
			path > 10*silentPath*silentPath && k >= 4
	}
	silent = enough && path > 25*noise && done < math.Max(3*noise, 0.01*path)
	return silent, quiet
}

// swapped compares what all hypotheses together made of the readings with what
// the profile makes of them when two channels change places.
func (m *Match) swapped(e *emitterModel) (i, j int, ok bool) {
	if !m.twoDrives() {
		return 0, 0, false // one drive alone fits too many stories
	}
	best := math.Inf(-1)
	pairs := e.n * (e.n - 1) / 2
	for a := range e.n {
		for b := a + 1; b < e.n; b++ {
			if ll := m.replay(a, b); ll > best {
				best, i, j = ll, a, b
			}
		}
	}
	return i, j, best-math.Log(float64(max(pairs, 1))) > m.evidence+swapOdds
}

// twoDrives reports whether readings at two drives or more were taken.
func (m *Match) twoDrives() bool {
	for k := range m.taken {
		if !slices.Equal(m.taken[k].r.Drive, m.taken[0].r.Drive) {
			return true
		}
	}
	return false
}

// replay runs the readings through the profile's own hypothesis with channels a
// and b exchanged and returns the evidence.
func (m *Match) replay(a, b int) float64 {
	h := m.first.clone()
	total := 0.0
	var last []float64
	for k := range m.taken {
		t := &m.taken[k]
		d := slices.Clone(t.d)
		d[a], d[b] = d[b], d[a]
		o := m.obs(&t.r)
		if last == nil {
			if o.axes == 3 {
				var z [3]float64
				m.m.predict(h.law, h.x, d, &z, nil)
				h.x[m.f.g] += o.z[2] - z[2]
			}
		} else if !slices.Equal(last, d) {
			m.m.moved(h, last, d)
		}
		last = d
		ll, ok := m.f.update(h, d, &o)
		if !ok || ll < outlierLevel(&o) && m.taken[k].verdict == Accepted {
			return math.Inf(-1) // an exchange has to explain everything
		}
		total += ll
	}
	return total
}

// unsettledBy says which of lamp and meter would not hold still, from repeats
// at the last drive.
func (m *Match) unsettledBy() string {
	var t, u, v []float64
	for k := len(m.taken) - 1; k >= 0 && slices.Equal(m.taken[k].r.Drive, m.drive); k-- {
		r := &m.taken[k].r
		t, u, v = append(t, r.At.Seconds()), append(u, r.UV.U), append(v, r.UV.V)
	}
	n := float64(len(t))
	noise := m.noiseHere()
	sigma := math.Sqrt((noise.uu + noise.vv) / 2)
	if k := 2.448 * sigma / m.target.Tol; k*k > float64(m.opt.Budget)/2 {
		m.cause = MeterNoise
		return fmt.Sprintf("the meter's scatter of %s is too much for this tolerance: some %.0f readings would be needed", milli(sigma), k*k)
	}
	if n < 4 {
		if m.causeWhy != "" {
			return m.causeWhy
		}
		return "it never stood long enough at one drive: the light does not follow the model"
	}
	su, ru := slope(t, u)
	sv, rv := slope(t, v)
	scatter := math.Sqrt((ru*ru + rv*rv) / 2)
	span := math.Abs(t[0] - t[len(t)-1])
	if rate := math.Hypot(su, sv); rate*span > 6*scatter/math.Sqrt(n)+2*sigma {
		m.cause = LampDrift
		return fmt.Sprintf("the light drifts by %s a minute: let it warm up", milli(60*rate))
	}
	if scatter > 1.5*sigma {
		m.cause = MeterNoise
		return fmt.Sprintf("readings of one look scatter by %s, more than the %s that was measured: steady the meter or the light", milli(scatter), milli(sigma))
	}
	m.cause = MeterNoise
	return fmt.Sprintf("the meter's scatter of %s needs more readings than allowed for this tolerance", milli(sigma))
}

// slope fits a line and returns its slope and the standard deviation about it.
func slope(t, y []float64) (a, sd float64) {
	n := float64(len(t))
	var mt, my, tt, ty float64
	for i := range t {
		mt += t[i] / n
		my += y[i] / n
	}
	for i := range t {
		tt += (t[i] - mt) * (t[i] - mt)
		ty += (t[i] - mt) * (y[i] - my)
	}
	if tt > 0 {
		a = ty / tt
	}
	for i := range t {
		e := y[i] - my - a*(t[i]-mt)
		sd += e * e
	}
	return a, math.Sqrt(sd / math.Max(n-2, 1))
}
