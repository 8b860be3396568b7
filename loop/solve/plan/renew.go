package plan

import (
	"trueup/colorcalc"
	"trueup/loop/solve/model"
)

// renew gives the mix p up that is held if it is predicted to look clearly less alike than the one that would be chosen by what has been
// learnt of the emitters since, puts that in its place and says so. A mix is chosen by the light that the profile or sisters of the lamp
// promise; a few readings on, its emitters and so their bent spectra are others.
func (e *mixture) renew(p []float64, t colorcalc.UV) bool {
	if e.like == nil || e.renewals == mostRenewals {
		return false
	}
	top, ok := e.maxY(t)
	if !ok {
		return false
	}
	c := *e
	var q [model.MaxEmitters]float64
	if !c.chooseAlike(q[:e.n], t, top, e.wanted(top)) {
		return false
	}
	e.view = c.view
	held, ok := e.seen(p, t)
	if !ok {
		return false
	}
	anew, ok := e.seen(q[:e.n], t)
	if !ok || held < renewFrom*anew || held < anew+renewLeast {
		return false
	}
	copy(p, q[:e.n])
	c.renewals++
	*e = c
	return true
}

// seen is the mean difference that the observers are predicted to see of a mix.
func (e *mixture) seen(p []float64, t colorcalc.UV) (mean float64, ok bool) {
	m, which, _ := e.mixing(t)
	if m == nil {
		return 0, false
	}
	lights := make([]float64, len(which))
	for k, i := range which {
		lights[k] = p[i]
	}
	all, err := m.Judge(lights)
	if err != nil {
		return 0, false
	}
	for _, d := range all {
		mean += d.Mean / float64(len(all))
	}
	return mean, true
}
