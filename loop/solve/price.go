package solve

import (
	"trueup/loop/solve/model"
	"trueup/loop/solve/plan"
)

// Price tells what likeness costs this head in light, and how it stands, by what is known of it now. All of it is predicted.
// ok is false for a head that has no spectra to choose by, or whose mixes do not reach the target.
func (m *Match) Price() (p Price, ok bool) {
	mix, emitters := m.model.(*model.Mixture)
	if !emitters || m.opt.Likeness == nil || !m.opt.Wish.BySpectra() {
		return p, false
	}
	h := m.sum.Lead()
	now := m.stand.d
	if now == nil {
		now = m.start()
	}
	p, err := plan.PriceOf(mix, m.head(), m.opt.Wish, m.opt.Likeness, h.Law, h.X, now, m.stand.d != nil, m.goal(h.X))
	return p, err == nil
}
