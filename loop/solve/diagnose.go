package solve

import (
	"fmt"
	"math"
	"slices"

	"trueup/loop/solve/model"
	"trueup/profiles/law"
)

// fault is what speaks for a fault behind the readings.
type fault struct {
	cause   Cause
	why     string  // a sentence on the cause
	worst   float64 // squared Mahalanobis distance of the reading that fitted worst
	misfits int     // readings after moves that did not fit at all
	missed  bool    // the last move did not end as the law has it
	asks    int     // decisions since the last usable reading
}

// ends reports whether the cause leaves nothing to go on with.
func (f *fault) ends() bool {
	return f.cause == NotAnswering || f.cause.Elsewhere()
}

// Elsewhere tells whether the match is about to end because its head takes its channels from other slots than the rig has them in; see [Cause.Elsewhere].
func (m *Match) Elsewhere() bool { return m.fault.cause.Elsewhere() }

// strays reports whether the light does so seldom what its mode should do that more steps lead nowhere.
func (f *fault) strays() bool { return f.cause == WrongMode && f.misfits >= mostMisfits }

func (f *fault) name(c Cause, format string, args ...any) {
	f.cause, f.why = c, fmt.Sprintf(format, args...)
}

// stopped ends a match whose cause was found, or that gets no readings at all.
func (m *Match) stopped() (Decision, bool) {
	f := &m.fault
	f.asks++
	switch {
	case f.asks > silentAsks && m.stand.d == nil, f.asks > 2*silentAsks:
		if f.cause == NoCause {
			f.cause = Dark
		}
		return m.done(Unsettled, 0, fmt.Sprintf("unsettled: no usable reading after %d requests: meter covered, fixture dark, or feed lost", f.asks-1)), true
	case f.ends():
		return m.done(Held, m.inside(), "held: "+f.why), true
	}
	return Decision{}, false
}

// diagnose looks for a fault behind the readings so far.
func (m *Match) diagnose() {
	f := &m.fault
	if f.ends() {
		return
	}
	silent, quiet := m.silent()
	if silent && m.edge.mustAnswer(m) {
		if m.as == nil && m.compete(true) && m.as != nil {
			if m.as.cause == DeadEmitter { // it does not answer either, where it was moved alone
				return
			}
			m.turn(m.retold(nil))
		}
		if f.cause == WrongAddress || f.cause == AnotherMode {
			return
		}
		f.name(NotAnswering, "the light at the meter does not respond to this fixture: another fixture is measured, a wrong address or mode, a dead lamp, or another source holds these slots")
		return
	}
	if !quiet && m.compete(false) {
		return
	}
	m.restless()
	if m.as == nil && m.model.Emitters() > 0 && m.wrongLaw() {
		return
	}
	if f.misfits >= misfits {
		f.name(WrongMode, "the light responds, but not as this mode should: another mode in the fixture's menu, another profile, or a fixture that jumps")
	}
}

// wrongLaw names a response that is another than the profile says.
func (m *Match) wrongLaw() bool {
	h := m.sum.Lead()
	if !(h.Weight > leadSurely) {
		return false
	}
	if h.Law != 0 && m.spec.Curve.Law != law.Unknown {
		m.fault.name(WrongLaw, "the dimming curve looks %s, not %s as the profile says", m.model.LawName(h.Law), model.CurveName(m.spec.Curve))
		return true
	}
	ln, sd, ok := m.model.Exponent(&h.State)
	if !ok || !(math.Abs(ln) > bentLaw+bentNoise*sd) {
		return false
	}
	m.fault.name(WrongLaw, "the exponent of the dimming curve is %+.0f %% from the profile's", 100*math.Expm1(ln))
	return true
}

// silent reports that the light did not answer to moves that should have shown:
// what all moves together did is no more than noise, and a small part of what
// the profile expected of them. quiet tells that the last move had no answer.
func (m *Match) silent() (silent, quiet bool) {
	path, done, noise, moves := 0.0, 0.0, 0.0, 0
	for k := 1; k < len(m.log.taken); k++ {
		a, b := &m.log.taken[k-1], &m.log.taken[k]
		if slices.Equal(a.r.Drive, b.r.Drive) {
			continue
		}
		p, q := m.sum.Filter.Predict(&m.sum.Nominal.State, a.d), m.sum.Filter.Predict(&m.sum.Nominal.State, b.d)
		way, went := math.Hypot(p[0]-q[0], p[1]-q[1]), a.r.UV.Dist(b.r.UV)
		o := m.obs(&b.r)
		n := 2 * (o.R.UU + o.R.VV)
		quiet = way*way > silentSeen*n && went*went < max(quietDone*n, silentPart*way*way)
		if a.r.HasY && b.r.HasY && math.Abs(math.Log(b.r.Y/a.r.Y)) > levelAnswers*math.Sqrt(2*o.RY) {
			return false, false
		}
		along := ((b.r.UV.U-a.r.UV.U)*(q[0]-p[0]) + (b.r.UV.V-a.r.UV.V)*(q[1]-p[1])) / max(way, 1e-9)
		if along > alongAnswers*math.Sqrt(n/2) && along > alongPart*way { // it follows, if less far than its profile has it
			return false, false
		}
		path += way * way
		done += went * went
		noise += n
		moves++
	}
	enough := moves >= unanswered && path > silentPath*silentPath
	if k := len(m.log.taken); moves == 1 && k >= 3 { // one long move, looked at twice
		enough = path > silentOne*silentPath*silentPath && slices.Equal(m.log.taken[k-1].d, m.log.taken[k-2].d) ||
			path > silentLong*silentPath*silentPath && k >= 4
	}
	if m.opt.Earlier > 0 && !(path > silentLater*silentPath*silentPath) { // an earlier visit was not held for that
		return false, quiet
	}
	silent = enough && path > silentSeen*noise && done < max(silentDone*noise, silentPart*path)
	return silent, quiet
}
