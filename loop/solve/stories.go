package solve

import "trueup/loop/solve/estimate"

// stories are what may be told of a head beside what is believed of it: the profile's own and its rivals. Each is told every
// reading once, when it is first asked for after that: what came of the earlier readings does not change. Each is listed when it is first
// asked for.
type stories struct {
	rivals, exchanges, addresses, modes []rival
	told                                map[string]*Match // by the name of the story, "" of the profile's own
}

// rivals are the stories beside the profile's, but those of exchanged emitters.
func (m *Match) rivals() []rival {
	if m.stories.rivals == nil {
		m.stories.rivals = rivals(&m.spec)
	}
	return m.stories.rivals
}

// exchanges are the stories of exchanged emitters.
func (m *Match) exchanges() []rival {
	if m.stories.exchanges == nil {
		m.stories.exchanges = exchanges(&m.spec)
	}
	return m.stories.exchanges
}

// addresses are the stories of a lamp that listens elsewhere.
func (m *Match) addresses() []rival {
	if m.stories.addresses == nil {
		m.stories.addresses = misaddressed(&m.spec)
	}
	return m.stories.addresses
}

// otherModes are the stories of a lamp that is set to another mode.
func (m *Match) otherModes() []rival {
	if m.stories.modes == nil {
		m.stories.modes = inOtherModes(&m.spec)
	}
	return m.stories.modes
}

// others goes through the stories that are not believed now, but those that end a match; nil is the profile's.
func (m *Match) others(yield func(*rival) bool) {
	if m.as != nil && !yield(nil) {
		return
	}
	every := m.rivals()
	for i := range every {
		if (m.as == nil || every[i].name != m.as.name) && !yield(&every[i]) {
			return
		}
	}
}

// key is the name of a story, "" of the profile's own.
func (r *rival) key() string {
	if r == nil {
		return ""
	}
	return r.name
}

// retold is a match with the same readings under another story.
func (m *Match) retold(r *rival) *Match {
	told := m.stories.told[r.key()]
	if told == nil {
		if m.stories.told == nil {
			m.stories.told = map[string]*Match{}
		}
		told = m.begun(r)
		m.stories.told[r.key()] = told
	}
	told.hear(m)
	return told
}

// hear tells a match under another story the readings of told that it has not heard yet.
func (m *Match) hear(told *Match) {
	m.log.unseen = told.log.unseen
	for k := len(m.log.taken) - m.recalled; k < len(told.log.taken); k++ {
		m.take(&told.log.taken[k])
	}
}

// take learns from a reading that another match has taken.
func (m *Match) take(t *taken) {
	sent := t.sent
	if m.rig != nil {
		sent = m.taking(t.r.Drive, t.r.Around)
	}
	m.arrive(t.r.Drive, sent)
	m.elapse(t.r.At, sent)
	obs := m.obs(&t.r)
	if obs.Axes == 3 && !m.sum.LevelKnown {
		m.sum.GuessScale(sent, obs.Z[2])
	}
	far := m.nearestOf(sent, &obs)
	m.fault.worst = max(m.fault.worst, far)
	accepted := m.sum.Observe(sent, &obs, m.log.agreeing(&obs, sent))
	if obs.Axes == 3 && accepted > mostAccepted {
		m.sum.LevelKnown = true
	}
	verdict := Accepted
	if accepted < mostAccepted {
		verdict = Outlier
	}
	m.log.taken = append(m.log.taken, taken{r: t.r, sent: sent, d: sent, verdict: verdict, far: far})
}

// begun is a match under another story that has no readings yet but those of earlier visits.
func (m *Match) begun(r *rival) *Match {
	o := m.fresh(r)
	o.recall(m)
	return o
}

// fresh is a match under another story that has no readings at all.
func (m *Match) fresh(r *rival) *Match {
	prior := m.prior
	if m.opt.Past != nil {
		prior = m.opt.Past.prior
	}
	o := &Match{spec: m.spec, target: m.target, opt: m.opt, rng: m.rng, as: r, work: m.work, unrest: unrest{factor: m.unrest.factor}}
	if r != nil && r.elsewhere {
		o.spec, o.rig, o.work = r.spec, &m.spec, estimate.NewWorkspace()
	}
	o.log.taken = make([]taken, 0, 2*len(m.log.taken))
	o.build()
	o.sum = estimate.NewSum(o.model, o.work)
	if prior != nil && (r == nil || r.cause != DeadEmitter && r.cause != Swapped && r.cause != Exchanged) { // what sisters have taught but of those emitters
		if o.sum.Adopt(prior, o.spec.Kind) != nil {
			o.sum = estimate.NewSum(o.model, o.work)
		}
	}
	return o
}
