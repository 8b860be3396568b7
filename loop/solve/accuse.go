package solve

// A story is believed as soon as it explains the readings better than the profile: the steps then go by
// it, which costs nothing where it is wrong, for the next readings turn the match back. To say it to somebody
// who then opens the lamp's menu or rewrites its profile takes more: that it foretold the light at a
// setting that it was not made up from, and more evidence over every other.

// accuse names the story that is believed, once it has proved itself. It reports whether it did so now. Where an earlier visit
// read the head too, less evidence is enough: what that made up the story from, this one has foretold.
func (m *Match) accuse() bool {
	if m.opt.Past != nil {
		return m.proved(endOdds)
	}
	return m.proved(saidOdds)
}

// conclude is accuse at a landing: a table bent at the end of its range looks like another scale while the match is under way.
func (m *Match) conclude() bool { return m.proved(endOdds) }

// proved names it if its evidence over the best of the others is enough. No light from an emitter leaves little room
// for chance; two scales that bend alike leave much.
func (m *Match) proved(odds float64) bool {
	if m.as == nil || m.said || m.as.maybe != "" && m.odds < odds || !m.foretold() {
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

// foretold tells whether a reading at a setting that was not read before has come in since the story is believed, and was as it has it.
func (m *Match) foretold() bool {
	for k := m.since; k < len(m.log.taken); k++ {
		if t := &m.log.taken[k]; t.moved && t.verdict == Accepted && !m.opt.Past.read(t.r.Drive) {
			return true
		}
	}
	return m.as.maybe == ""
}

// doubt is what a look at a setting that parts two stories is made for.
func (m *Match) doubt() string {
	if m.suspect.as != nil {
		return m.suspect.as.maybe
	}
	return m.as.maybe
}
