package solve

import (
	"math"
	"slices"

	"trueup/loop/solve/estimate"
)

// A lamp may read otherwise from reading to reading though nothing was sent to it: it is dimmed by pulses, and the meter's
// window holds now more of them and now fewer, of each emitter other ones. Its readings then scatter by more than the meter's own
// noise. An estimate that believes the meter runs after each of them, and lands on the first that happens to
// fit. So, once a reading has fitted badly, the same story is told with several times the noise, and these stories compete by their
// evidence ("Optimal adaptive estimation of sampled stochastic processes", D. T. Magill, 1965): the likeliest leads, and a landing must
// hold by all of them together.

// unrest is what is held of a head's own scatter.
type unrest struct {
	factor float64  // by which the match goes now; 0: one
	told   []*Match // the story of each of the factors; nil: not told yet
	as     *rival   // what they take the head for
	rival  float64  // ln of the evidence for the best of other stories of the head, by the factor in force; minus infinity: none was asked
}

// factors are how many times the meter's noise readings of a head may scatter; the first is the meter alone.
var factors = [...]float64{1, 2, 4, 8}

// scatter is the factor in force.
func (m *Match) scatter() float64 { return max(m.unrest.factor, 1) }

// doubtsRest tells whether there is reason to ask: a reading that fitted badly, among enough readings, and not so many
// that the answer is in.
func (m *Match) doubtsRest() bool {
	n := len(m.log.taken)
	return m.fault.worst > rivalFrom && n >= unrestFrom && n <= unrestTo
}

// restless goes over to the factor that explains all readings best, unless another story of the head does so better than
// its present one, or a search goes on: too few readings, ones far off for another cause, and a light that jumps between
// settings look like scatter at first.
func (m *Match) restless() {
	u := &m.unrest
	if !m.doubtsRest() || m.search != (search{}) || u.rival > m.evidence() {
		return
	}
	at := likeliest(m.unrests())
	if factors[at] == m.scatter() {
		return
	}
	to := u.told[at]
	u.told[at] = nil // its sum goes its own way from here
	u.factor, m.sum = factors[at], to.sum
	for k := range m.log.taken {
		m.log.taken[k].verdict = to.log.taken[to.recalled+k].verdict
	}
	m.stories, m.suspect = stories{}, nil // they are told by the noise that the match goes by
	m.fault.misfits, m.fault.missed = 0, false
}

// unrests is ln of the evidence for each of the factors.
func (m *Match) unrests() (ln [len(factors)]float64) {
	u := &m.unrest
	if u.told == nil || u.as != m.as {
		u.told, u.as = make([]*Match, len(factors)), m.as
	}
	for i, factor := range factors {
		if u.told[i] == nil {
			u.told[i] = m.scattered(factor)
		}
		u.told[i].hear(m)
		ln[i] = u.told[i].evidence()
	}
	return ln
}

// scattered is a match that began as this one did, and has no readings of this visit yet.
func (m *Match) scattered(factor float64) *Match {
	o := m.fresh(m.as)
	o.unrest.factor = factor
	if m.own == nil || m.since > 0 {
		o.recall(m)
	} else if o.sum.Adopt(m.own, o.spec.Kind) != nil {
		o.sum = estimate.NewSum(o.model, o.work)
	}
	return o
}

// likeliest is the factor with the most evidence, less what is thought of it beforehand.
func likeliest(ln [len(factors)]float64) (at int) {
	for i := range ln {
		if ln[i]-against(i) > ln[at]-against(at) {
			at = i
		}
	}
	return at
}

// against is ln of the odds against a factor before any reading.
func against(i int) float64 {
	if i == 0 {
		return 0
	}
	return unrestOdds
}

// insideAnyhow is the probability to be inside the tolerance by all factors together; p is that by the one in force.
func (m *Match) insideAnyhow(p float64) float64 {
	if !m.doubtsRest() {
		return p
	}
	ln := m.unrests()
	for i := range ln {
		ln[i] -= against(i)
	}
	top, sum, in := slices.Max(ln[:]), 0.0, 0.0
	for i, factor := range factors {
		w, q := math.Exp(ln[i]-top), p
		if factor != m.scatter() {
			m.unrest.told[i].target = m.target
			q = m.unrest.told[i].inside()
		}
		sum, in = sum+w, in+w*q
	}
	return in / sum
}
