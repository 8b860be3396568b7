package solve

import (
	"trueup/colorcalc"
	"trueup/loop/solve/model"
)

// A story is believed as soon as it explains the readings better than the profile: the steps then go by
// it, which costs nothing where it is wrong, for the next readings turn the match back. To say it to somebody
// who then opens the lamp's menu or rewrites its profile takes more: that it foretold the light at a
// setting that it was not made up from, of a scale that the light stands where it has it, and more evidence over every other.

// proves tells whether what a match takes the head for has to prove itself before it is named. No light from an emitter leaves
// little room for chance; two scales that bend alike leave much.
func (m *Match) proves() bool { return m.as != nil && m.as.maybe != "" }

// accuse names the story that is believed, once it has proved itself. It reports whether it did so now. A tint takes more on
// a first visit under way: while the head is far off, other bends look like it.
func (m *Match) accuse() bool {
	if m.opt.Past == nil && m.proves() && !m.ofScale() {
		return m.proved(underWayOdds)
	}
	return m.proved(saidOdds)
}

// conclude is accuse at a landing.
func (m *Match) conclude() bool { return m.proved(saidOdds) }

// proved names the story if its evidence over the best of the others is enough.
func (m *Match) proved(odds float64) bool {
	if m.as == nil || m.said || m.odds < odds || m.proves() && !m.foretold() || !m.proves() && !m.withoutFirst() || m.ofScale() && !m.standsSo() {
		return false
	}
	m.say()
	return true
}

// say names the story that is believed.
func (m *Match) say() {
	m.said = true
	m.fault.name(m.as.cause, "%s", m.as.why)
}

// withoutFirst tells whether the story stays ahead of the profile without the first reading of this visit. That one alone sets the
// scale of all levels: where it is wild, every other reading lacks light, or has too much, as with an emitter that is dead.
func (m *Match) withoutFirst() bool {
	return m.without(m.as, 0).evidence() >= m.without(nil, 0).evidence()+firstAlone
}

// withdraw takes back that an emitter is dead, once the evidence for that is no longer what it takes to say so. Where an earlier visit has believed it,
// said or not, the readings of this one are not all of the evidence: it is taken back there when the match turns away from it.
func (m *Match) withdraw() {
	if !m.said || m.proves() || m.inherited || m.odds >= saidOdds {
		return
	}
	m.said = false
	if m.fault.cause == m.as.cause {
		m.fault.cause, m.fault.why = NoCause, ""
	}
}

// foretold tells whether a reading at a setting that was not read before has come in since the story is believed, and was as it has it.
func (m *Match) foretold() bool {
	for k := m.since; k < len(m.log.taken); k++ {
		if t := &m.log.taken[k]; t.moved && t.verdict == Accepted && !m.opt.Past.read(t.r.Drive) {
			return true
		}
	}
	return false
}

// standsSo tells whether the light stands where another scale has it, and does not only move as it would: a table that is bent
// moves like another scale over a stretch of its range, and yet stands near what its own asks for. Of the settings read, at
// the one where the two ask furthest apart, the light has to be nearer to what the other asks for.
func (m *Match) standsSo() (nearer bool) {
	profile, story := model.NewEngine(&m.spec), model.NewEngine(&m.as.spec)
	apart := 0.0
	for t := range m.readings {
		if t.verdict != Accepted {
			continue
		}
		a, b := asked(profile, t.sent), asked(story, t.sent)
		if far := a.Dist(b); far > apart {
			apart, nearer = far, t.r.UV.Dist(b) < t.r.UV.Dist(a)
		}
	}
	return nearer
}

// asked is the light that the scales of a head ask for at a drive.
func asked(e *model.Engine, d []float64) (uv colorcalc.UV) {
	uv.U, uv.V = e.Asked(d)
	return uv
}

// doubt is what a look at a setting that parts two stories is made for.
func (m *Match) doubt() string {
	for _, r := range []*rival{m.suspect.as, m.as} {
		if r != nil && r.maybe != "" {
			return r.maybe
		}
	}
	return "two of its slots may be exchanged"
}
