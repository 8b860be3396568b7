package solve

import (
	"fmt"
	"math"
	"slices"

	"trueup/loop/solve/estimate"
	"trueup/loop/solve/plan"
)

// A rival is another story of the same head: what its profile would have to say if one thing
// about the lamp, its patch or its profile were wrong. It is told the same readings as the profile's own
// story, and the two compete by their evidence.
type rival struct {
	name      string // for the journal and a kept prior: "dead 2", "tint", "scale"; "exchanged 1 2" is of one match alone and never kept
	cause     Cause
	why       string // a sentence on the cause
	maybe     string // the same as a doubt; "" where no setting is tried for it
	spec      Spec
	emitter   int  // of a dead one
	elsewhere bool // the lamp takes its channels from the slots of this spec, and not from those that the rig has
}

// rivals lists the stories that compete with a profile.
func rivals(s *Spec) (all []rival) {
	for i, e := range s.Emitters {
		if s.Kind == Emitters && len(s.Emitters) > 1 && s.Channels[i].Hi > s.Channels[i].Lo {
			all = append(all, rival{fmt.Sprintf("%s %d", deadName, i+1), DeadEmitter,
				fmt.Sprintf("%s gives no light: a dead emitter, its driver or its cable, or another order of slots than the profile's", e.Name), "", withoutEmitter(s, i), i, false})
		}
	}
	all = append(all, exchangedParameters(s)...)
	if s.Kind != CCT {
		return all
	}
	if s.CCT.Tint >= 0 {
		all = append(all, rival{tintName, TintSign, "tint works the other way round than the profile says: its green end is magenta", "tint may work the other way round than the profile says", withTintTurned(s), 0, false})
	}
	if len(s.CCT.Scale.Steps) == 0 {
		is, says := "mired", "kelvin"
		if s.CCT.Scale.Mired {
			is, says = says, is
		}
		all = append(all, rival{scaleName, WrongScale, fmt.Sprintf("the colour temperature scale runs evenly in %s, not in %s as the profile says", is, says),
			fmt.Sprintf("its colour temperature scale may run evenly in %s and not in %s", is, says), withOtherScale(s), 0, false})
	}
	return all
}

// Names of rivals.
const (
	deadName       = "dead"
	tintName       = "tint"
	scaleName      = "scale"
	exchangedName  = "exchanged"
	parametersName = "parameters"
	addressName    = "address"
	modeName       = "mode"
)

// withoutEmitter is a head whose emitter i is dark whatever is sent to it.
func withoutEmitter(s *Spec, i int) Spec {
	out := *s
	out.Emitters = slices.Clone(s.Emitters)
	out.Channels = slices.Clone(s.Channels)
	for k := range out.Emitters {
		if !(out.Emitters[k].Flux > 0) {
			out.Emitters[k].Flux = 1 // as a head takes it whose flux is not stated
		}
	}
	out.Emitters[i].Flux = deadFlux * out.Emitters[i].Flux
	out.Channels[i].Hi = out.Channels[i].Lo // nothing is gained by driving it
	return out
}

// withTintTurned is a head whose tint runs the other way.
func withTintTurned(s *Spec) Spec {
	out, c := *s, *s.CCT
	c.TintScale.From, c.TintScale.To = c.TintScale.To, c.TintScale.From
	out.CCT = &c
	return out
}

// withOtherScale is a head whose colour temperature runs evenly in mired instead of kelvin, or the other way.
func withOtherScale(s *Spec) Spec {
	out, c := *s, *s.CCT
	c.Scale.Mired = !c.Scale.Mired
	out.CCT = &c
	return out
}

// compete tells every story all readings so far, and goes over to one that explains all of them, and
// better than the present one and than every other by more than chance, or away from one that its own light has
// refuted. Some stories end the match; they are named by which they are where the readings tell that. Of a light that did not answer a story has to explain everything: that it is not this lamp's
// does so too.
func (m *Match) compete(silent bool) bool {
	m.suspect, m.odds, m.unrest.rival = nil, math.Inf(-1), math.Inf(-1)
	if !m.asks() {
		return false
	}
	if m.refuted(m.as) {
		m.turn(m.retold(nil))
		return true
	}
	end := m.ending()
	lead, best, second := m.bestOther(end.ln)
	// The one that is believed is told all at once, as the others are: what a match made of its readings itself is another matter. While it
	// seeks, its moves count for what its process knows of where they lead, and its evidence came out ten above or below for that alone.
	known, before := m.retold(m.as).evidence(), 0.0
	if m.opt.Past != nil { // its own evidence is of this visit alone
		before = known - m.evidence()
	}
	m.odds, m.unrest.rival = known-max(best, end.ln), max(best, end.ln)-before
	if m.spec.Kind == CCT && (m.as == nil && best > known+suspectOdds && lead.proves() || m.as != nil && !m.said) {
		m.suspect = lead
	}
	switch {
	case !m.twoDrives(): // one drive alone fits too many stories
		return false
	case end.lead != nil && end.ln > known+swapOdds && end.ln > best+end.lead.as.ahead() && end.lead.explains(m, end.ln-known, silent) && m.withoutAny(end.lead.as):
		if !end.named(m) { // the next reading may tell
			return false
		}
	case lead == nil || best < known+lead.believable() || best < second+rivalApart || !m.tells(lead.as) || !lead.explains(m, best-known, silent):
		m.withdraw()
		return m.accuse()
	default:
		was := m.as
		m.odds = best - max(known, second)
		m.turn(lead)
		switch { // what was suspected is believed now
		case m.as == nil:
			m.suspect = nil
		case m.suspect != nil: // it may yet give way to what was left
			m.suspect = m.retold(was)
		}
	}
	return true
}

// asks tells whether other stories are asked now: where some reading fitted badly, up to so many readings, and as long as
// an emitter is believed to be dead, named or not.
func (m *Match) asks() bool {
	if m.as != nil && !m.proves() {
		return true
	}
	return len(m.log.taken) <= rivalTo && (m.worst() > m.rivalFrom() || m.as != nil || m.opt.Past != nil)
}

// rivalFrom is the squared Mahalanobis distance of some reading, from which on other stories are asked.
func (m *Match) rivalFrom() float64 {
	if m.spec.Kind == CCT {
		return scaleFrom
	}
	return rivalFrom
}

// bestOther is the story with the most evidence, of those that are not believed now nor refuted, with ln of its evidence and of the
// next best; end is that of the best story that ends a match.
func (m *Match) bestOther(end float64) (lead *Match, best, second float64) {
	best, second = math.Inf(-1), end
	for r := range m.others {
		if m.refuted(r) {
			continue
		}
		told := m.retold(r)
		if ll := told.evidence(); ll > best {
			best, second, lead = ll, max(second, best), told
		} else {
			second = max(second, ll)
		}
	}
	return lead, best, second
}

// believable is ln of the evidence over the present story from which on this one is believed.
func (m *Match) believable() float64 {
	if m.ofScale() {
		return tryOdds
	}
	return rivalOdds
}

// ofScale tells whether it is the story of another scale. One of the tint that may be wrong sends the match the wrong way, to no
// end; one of the scale goes the right way, by more or less.
func (m *Match) ofScale() bool { return m.as != nil && m.as.cause == WrongScale }

// explains tells whether a story leaves no reading that it can not account for: none far from where it
// expected it, or, with much more evidence than the present one, none as far by far as that has. One odd reading moves ln of the
// odds by little more than rivalSurely: with twice as much it is no argument any more against an exchange; against a dead emitter
// it is, which a profile that is wrong in everything looks like. One of a scale is not asked, for it has to prove itself before it
// is named: one odd reading, as far from where the profile has it, would bar it for good.
func (m *Match) explains(now *Match, odds float64, silent bool) bool {
	return m.as == nil || m.ofScale() || m.fault.worst <= rivalMost || m.as.ends() && odds > 2*rivalSurely && !silent || odds > rivalSurely && rivalNearer*m.fault.worst <= now.worst()
}

// parting is a look that a lamp gets once that is about to land: which of two stories is true makes no difference to this colour, but to the next.
func (m *Match) parting() (pl plan.Plan, ok bool) {
	if m.conclude() || m.suspect == nil || m.parted {
		return pl, false
	}
	pl, m.parted = m.apart()
	return pl, m.parted
}

// early is such a look on the way, where the evidence for one of two scales over the other is far from even: most likely it names the scale, and
// what it tells of the head is not lost where it does not.
func (m *Match) early() (pl plan.Plan, ok bool) {
	if m.looked || m.said || m.suspect == nil || len(m.log.taken) > rivalTo || !m.ofScale() && !m.suspect.ofScale() || math.Abs(m.odds) < lookOdds {
		return pl, false
	}
	pl, m.looked = m.apart()
	m.looking = m.looked
	return pl, m.looked
}

// apart is a setting at which the present story and the one that it may yet give way to part most, in
// standard deviations of what is to be read there. On average a reading there moves ln of the odds by half of that squared: where
// this would not be enough to name anything, it is not worth its price.
func (m *Match) apart() (plan.Plan, bool) {
	o := m.suspect
	h, r := m.sum.Lead(), m.noise()
	best, at := max(partLeast, 2*(saidOdds-math.Abs(m.odds))), -1.0
	d := slices.Clone(m.stand.d)
	c := m.spec.CCT.Channel
	for f := partStep; f < 1-partStep/2; f += partStep {
		d[c] = f
		z, s := m.sum.Filter.Spread(&h.State, d)
		q := m.model.MoveNoise(&h.State, m.stand.d, d)
		other := o.sum.Filter.Predict(&o.sum.Lead().State, d)
		s.UU, s.UV, s.VV = s.UU+q.UU+r.UU, s.UV+q.UV+r.UV, s.VV+q.VV+r.VV
		du, dv := other[0]-z[0], other[1]-z[1]
		if far := (s.VV*du*du - 2*s.UV*du*dv + s.UU*dv*dv) / (s.UU*s.VV - s.UV*s.UV); far > best {
			best, at = far, f
		}
	}
	if at < 0 {
		return plan.Plan{}, false
	}
	d[c] = at
	return plan.Round(&m.spec, d), true
}

// backFromLook is the setting that looked landed, once a look elsewhere is taken: whichever story is true, the light stood at the
// target there, and a model that the far look has bent may find it no more.
func (m *Match) backFromLook() (plan.Plan, bool) {
	to := m.left
	m.left = nil
	if to == nil || !m.allowed(to) || slices.Equal(to, m.stand.codes) {
		return plan.Plan{}, false
	}
	return plan.Plan{Codes: to, D: m.fractions(to)}, true
}

// lookTaken tells whether the head stands where it was looked at on the way, and forgets that.
func (m *Match) lookTaken() bool {
	was := m.looking
	m.looking = false
	return was
}

// turn goes over to another story.
func (m *Match) turn(to *Match) {
	m.as, m.model, m.planner, m.edge, m.sum = to.as, to.model, to.planner, to.edge, to.sum
	delete(m.stories.told, to.as.key()) // its sum goes its own way from here
	m.search = search{}
	m.fault.misfits, m.fault.missed = 0, false
	m.fault.cause, m.fault.why = NoCause, ""
	m.said, m.inherited, m.since = false, false, len(m.log.taken)
	m.accuse()
}

// nearestOf is the squared Mahalanobis distance of a reading from the component, of those that have
// a say, that expected it best.
func (m *Match) nearestOf(d []float64, o *estimate.Obs) float64 {
	near := math.Inf(1)
	for _, h := range m.sum.Components {
		if h.Weight < haveSay || h.Wide {
			continue
		}
		_, _, far := m.sum.Filter.Innovation(&h.State, d, o)
		near = min(near, far)
	}
	if math.IsInf(near, 1) {
		_, _, near = m.sum.Filter.Innovation(&m.sum.Lead().State, d, o)
	}
	return near
}

// believe takes a kept prior's story over, and names it where it was said. That of two emitters exchanged is none of them: it ends a match
// before anything of the head is kept, and would end this one before its first reading.
func (m *Match) believe(name string, said bool) error {
	all := m.rivals()
	i := slices.IndexFunc(all, func(r rival) bool { return r.name == name })
	if i < 0 {
		return fmt.Errorf("prior is of a head that is %q, which this one can not be: forget it and start afresh", name)
	}
	m.as, m.inherited = &all[i], true
	if said {
		m.say()
	}
	m.build()
	m.sum = estimate.NewSum(m.model, m.work)
	return nil
}

// head is the spec that the match goes by now.
func (m *Match) head() *Spec {
	if m.as != nil {
		return &m.as.spec
	}
	return &m.spec
}
