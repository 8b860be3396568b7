package solve

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Prior is what is known of one head before its first reading, or the posterior
// kept from an earlier match of the same unit. It is plain data for JSON;
// floats survive the round trip exactly (encoding/json writes the shortest form
// that reads back the same). A Prior fits only a Spec of the same Kind and size.
type Prior struct {
	Kind       Kind       `json:"kind"`
	States     int        `json:"states"`
	Hypotheses []PriorHyp `json:"hypotheses"`
	Drive      Drive      `json:"drive,omitempty"` // where the head stood last
	Scaled     bool       `json:"scaled"`          // the level scale is known
	Batch      bool       `json:"batch,omitempty"` // of a unit not yet seen, from its batch
	// IdleSeconds is how long ago the last reading was, for the caller to set: the
	// lamp's warmth has moved since. 0 = not known, taken as half a minute.
	IdleSeconds float64 `json:"idle_seconds,omitempty"`
}

// PriorHyp is one Gaussian of the sum.
type PriorHyp struct {
	Weight float64   `json:"weight"`
	Law    int       `json:"law"`   // which response hypothesis
	Wide   bool      `json:"wide"`  // from the wide prior: profile badly wrong
	Scale  int       `json:"scale"` // which scatter hypothesis
	Mean   []float64 `json:"mean"`  // States values
	Cov    []float64 `json:"cov"`   // States x States, row by row
}

// Posterior is what is known of the head now. It shares nothing with the match.
func (m *Match) Posterior() Prior {
	p := Prior{Kind: m.spec.Kind, States: m.f.n, Drive: append(Drive(nil), m.drive...), Scaled: m.scaled}
	for _, h := range m.hyps {
		p.Hypotheses = append(p.Hypotheses, PriorHyp{Weight: h.w, Law: h.law, Wide: h.wide, Scale: h.scale,
			Mean: append([]float64(nil), h.x...), Cov: append([]float64(nil), h.p...)})
	}
	return p
}

// adopt starts from a kept posterior.
func (m *Match) adopt(p *Prior) error {
	if p.Kind != m.spec.Kind || p.States != m.f.n {
		return fmt.Errorf("prior is of a %s head with %d states, this one is %s with %d: forget it and start afresh", p.Kind, p.States, m.spec.Kind, m.f.n)
	}
	if len(p.Hypotheses) == 0 {
		return fmt.Errorf("prior holds no hypothesis: forget it and start afresh")
	}
	laws := 1
	switch k := m.m.(type) {
	case *emitterModel:
		laws = len(k.curves)
	case *planeModel:
		laws = k.law.variants()
	}
	sum := 0.0
	var hyps []*hyp
	for i, q := range p.Hypotheses {
		bad := !(q.Weight > 0) || math.IsInf(q.Weight, 0) || q.Law < 0 || q.Law >= laws || len(q.Mean) != p.States || len(q.Cov) != p.States*p.States
		for _, v := range q.Mean {
			bad = bad || math.IsNaN(v) || math.IsInf(v, 0)
		}
		for _, v := range q.Cov {
			bad = bad || math.IsNaN(v) || math.IsInf(v, 0)
		}
		for k := range p.States {
			bad = bad || len(q.Cov) == p.States*p.States && !(q.Cov[k*p.States+k] > 0)
		}
		if bad {
			return fmt.Errorf("prior: hypothesis %d is damaged: forget it and start afresh", i+1)
		}
		sum += q.Weight
		hyps = append(hyps, &hyp{w: q.Weight, law: q.Law, wide: q.Wide, scale: q.Scale,
			x: append([]float64(nil), q.Mean...), p: append([]float64(nil), q.Cov...)})
		m.m.sane(hyps[i].x)
	}
	for _, h := range hyps {
		h.w /= sum
	}
	m.hyps, m.scaled = hyps, p.Scaled
	if !p.Batch {
		m.rested(p.IdleSeconds)
	}
	sortHyps(m.hyps)
	m.first = m.hyps[0].clone()
	if len(p.Drive) == len(m.spec.Channels) {
		// Only to know how far the first move goes; a landing needs a reading there.
		from := m.fractions(p.Drive)
		pl, _ := m.planFor(m.hyps[0], from)
		for _, h := range m.hyps {
			m.m.moved(h, from, pl.d)
		}
		if e, ok := m.plan.(*emitterSolver); ok {
			e.held = false // the mixture is chosen when the match begins
		}
	}
	return nil
}

// Figures of a lamp that was left alone.
const (
	restUnknown = 30     // s, where the caller does not say
	restLean    = 0.0007 // u'v' that a warmed engine may lean
)

// rested adds the doubt of a lamp that was left alone: its warmth is another.
func (m *Match) rested(seconds float64) {
	if !(seconds > 0) {
		seconds = restUnknown
	}
	a := math.Exp(-seconds / warmTau)
	for _, h := range m.hyps {
		switch k := m.m.(type) {
		case *emitterModel:
			t := 3*k.n + offWarm
			h.p[t*m.f.n+t] += (1 - a*a) * sdWarm * sdWarm
		case *planeModel:
			for _, b := range [...]int{m.f.b, m.f.b + 1} {
				h.p[b*m.f.n+b] += (1 - a*a) * restLean * restLean
			}
		}
	}
}

// sortHyps puts the heaviest first and keeps the order of equals.
func sortHyps(h []*hyp) {
	slices.SortStableFunc(h, func(a, b *hyp) int { return cmp.Compare(b.w, a.w) })
}
