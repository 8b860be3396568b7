package estimate

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"trueup/loop/solve/model"
)

// Prior is what is known of one head before its first reading, or the posterior
// kept from an earlier match of the same unit. It is plain data for JSON;
// floats survive the round trip exactly (encoding/json writes the shortest form
// that reads back the same). A Prior fits only a Spec of the same Kind and size.
type Prior struct {
	Kind       model.Kind       `json:"kind"`
	States     int              `json:"states"`
	Hypotheses []PriorComponent `json:"hypotheses"`
	Drive      model.Drive      `json:"drive,omitempty"` // where the head stood last
	Scaled     bool             `json:"scaled"`          // the level scale is known
	Batch      bool             `json:"batch,omitempty"` // of a unit not yet seen, from its batch
	// As is what the head turned out to be in the place of what its profile says, such as
	// "dead 2" for one whose second emitter gives no light; empty for a sound one.
	As string `json:"as,omitempty"`
	// Doubted tells that As is believed, and has not proved itself so far that it was said.
	Doubted bool `json:"doubted,omitempty"`
	// IdleSeconds is how long ago the last reading was, for the caller to set: the
	// lamp's warmth has moved since. 0 = not known, taken as half a minute.
	IdleSeconds float64 `json:"idle_seconds,omitempty"`
}

// PriorComponent is one Gaussian of the sum.
type PriorComponent struct {
	Weight float64   `json:"weight"`
	Law    int       `json:"law"`   // which response law
	Wide   bool      `json:"wide"`  // from the wide prior: profile badly wrong
	Scale  int       `json:"scale"` // which scatter of units
	Mean   []float64 `json:"mean"`  // States values
	Cov    []float64 `json:"cov"`   // States x States, row by row
}

// Posterior is what is known now, of a head of the given kind. It shares nothing
// with the sum.
func (s *Sum) Posterior(kind model.Kind) Prior {
	p := Prior{Kind: kind, States: s.dim.N, Scaled: s.LevelKnown}
	for _, h := range s.Components {
		p.Hypotheses = append(p.Hypotheses, PriorComponent{Weight: h.Weight, Law: h.Law, Wide: h.Wide, Scale: h.Scale,
			Mean: slices.Clone(h.X), Cov: slices.Clone(h.P)})
	}
	return p
}

// Adopt starts from a kept posterior of a head of the given kind.
func (s *Sum) Adopt(p *Prior, kind model.Kind) error {
	n := s.dim.N
	if p.Kind != kind || p.States != n {
		return fmt.Errorf("prior is of a %s head with %d states, this one is %s with %d: forget it and start afresh", p.Kind, p.States, kind, n)
	}
	if len(p.Hypotheses) == 0 {
		return errors.New("prior holds no component: forget it and start afresh")
	}
	sum := 0.0
	var all []*Component
	for i, q := range p.Hypotheses {
		if !q.sound(n, s.model.Laws()) {
			return fmt.Errorf("prior: component %d is damaged: forget it and start afresh", i+1)
		}
		sum += q.Weight
		c := &Component{Component: model.Component{Weight: q.Weight, Scale: q.Scale,
			State: model.State{Law: q.Law, Wide: q.Wide, X: slices.Clone(q.Mean), P: slices.Clone(q.Cov)}}}
		s.model.Bound(c.X)
		all = append(all, c)
	}
	for _, c := range all {
		c.Weight /= sum
	}
	s.Components, s.LevelKnown = all, p.Scaled
	if !p.Batch {
		s.Rest(p.IdleSeconds)
	}
	sortComponents(all)
	s.Nominal = all[0].Clone()
	return nil
}

// Rest lets every component stand unread for so many seconds; 0 = not known, taken as half a minute.
func (s *Sum) Rest(seconds float64) {
	if !(seconds > 0) {
		seconds = restUnknown
	}
	for _, c := range s.Components {
		s.model.Rest(&c.State, model.Forgotten(seconds))
	}
}

// OpenDimmer leaves the exponent of a dimmer without a stated curve to the readings; d is the drive last read at, nil where there was none.
func (s *Sum) OpenDimmer(d []float64) {
	for _, c := range s.Components {
		s.model.OpenDimmer(&c.State, d)
	}
}

// sound reports whether a component has n finite states, a covariance with
// positive variances, and one of so many laws.
func (q *PriorComponent) sound(n, laws int) bool {
	if !(q.Weight > 0) || math.IsInf(q.Weight, 0) || q.Law < 0 || q.Law >= laws || q.Scale < 0 || len(q.Mean) != n || len(q.Cov) != n*n {
		return false
	}
	for _, v := range slices.Concat(q.Mean, q.Cov) {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	for k := range n {
		if !(q.Cov[k*n+k] > 0) {
			return false
		}
	}
	return true
}

// sortComponents puts the heaviest first and keeps the order of equals.
func sortComponents(h []*Component) {
	slices.SortStableFunc(h, func(a, b *Component) int { return cmp.Compare(b.Weight, a.Weight) })
}
