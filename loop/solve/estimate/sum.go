package estimate

import (
	"cmp"
	"math"
	"slices"

	"trueup/colorcalc"
	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

// Sum is the Gaussian sum of one head.
type Sum struct {
	Components  []*Component // weights add up to 1, heaviest first
	Nominal     *Component   // what the profile alone says, untouched
	LevelKnown  bool         // the scale between model and meter is known
	LogEvidence float64      // of all readings, all components together
	Filter      *Filter

	model model.Model
	dim   model.Dim
	work  *Workspace
}

// NewSum is what the profile alone says of a fresh unit. w is the memory it works in; nil: its own.
func NewSum(m model.Model, w *Workspace) *Sum {
	if w == nil {
		w = NewWorkspace()
	}
	s := &Sum{model: m, dim: m.Dim(), Filter: NewFilter(m), work: w}
	prior := m.Prior()
	s.Components = make([]*Component, 0, max(len(prior), maxComponents))
	for _, c := range prior {
		s.Components = append(s.Components, w.copyOf(&Component{Component: c}))
	}
	s.Nominal = w.copyOf(s.Components[0])
	return s
}

// Lead is the heaviest component.
func (s *Sum) Lead() *Component { return s.Components[0] }

// child is a component after a reading, with ln of its new weight.
type child struct {
	c    *Component
	lnW  float64
	took bool // the reading is in it
}

// Observe lets every component take the reading as good, as an outlier, or as
// the sign that it is broken. repeats is how many readings at the same drive agree
// with it: outliers do not repeat themselves. It returns the weight of the
// branches that took the reading.
func (s *Sum) Observe(d []float64, o *Obs, repeats int) (accepted float64) {
	out := OutlierEvidence(o)
	if o.Axes == 3 && !s.LevelKnown {
		out += math.Log(outlierLnFirst / outlierLn)
	}
	out -= agreement * float64(repeats)
	far := breakUV
	if repeats > 0 {
		far = breakFar
	}
	s.work.kids = s.work.kids[:0]
	for _, h := range s.Components {
		s.branch(h, d, o, out, far)
	}
	return s.prune()
}

// branch adds what a component may become.
func (s *Sum) branch(h *Component, d []float64, o *Obs, out, far float64) {
	n, b, g := s.dim.N, s.dim.B, s.dim.G
	w, lw := s.work, math.Log(h.Weight)
	w.kids = append(w.kids, child{h, lw + out, false})
	c := w.copyOf(h)
	ll, ok := s.Filter.UpdatePooled(c, d, o)
	if ok {
		c.Hits++
		w.kids = append(w.kids, child{c, lw + math.Log(1-outlierShare-breakShare) + ll, true})
	} else {
		w.drop(c)
	}
	if ok && !(ll < out+breakBelow) {
		return
	}
	c = w.copyOf(h)
	c.P[b*n+b] += far * far
	c.P[(b+1)*n+b+1] += far * far
	c.P[g*n+g] += breakLn * breakLn
	c.newStation()
	if ll, ok := s.Filter.UpdatePooled(c, d, o); ok {
		c.Hits++
		w.kids = append(w.kids, child{c, lw + math.Log(breakShare) + ll, true})
	} else {
		w.drop(c)
	}
}

// prune keeps the heaviest children as the new sum, and returns the weight of
// those that took the reading.
func (s *Sum) prune() (accepted float64) {
	kids := s.work.kids
	top := math.Inf(-1)
	for _, k := range kids {
		top = max(top, k.lnW)
	}
	sum := 0.0
	for _, k := range kids {
		k.c.Weight = math.Exp(k.lnW - top)
		sum += k.c.Weight
	}
	slices.SortStableFunc(kids, func(a, b child) int { return cmp.Compare(b.c.Weight, a.c.Weight) })
	s.Components = s.Components[:0]
	kept := 0.0
	for i, k := range kids {
		if i > 0 && (i >= maxComponents || k.c.Weight < pruneBelow*sum) {
			s.work.drop(k.c)
			continue
		}
		kept += k.c.Weight
		s.Components = append(s.Components, k.c)
		if k.took {
			accepted += k.c.Weight
		}
	}
	for _, h := range s.Components {
		h.Weight /= kept
	}
	s.LogEvidence += top + math.Log(sum)
	return accepted / kept
}

// OutlierEvidence is ln of the evidence of "this reading is an outlier".
func OutlierEvidence(o *Obs) float64 {
	out := math.Log(outlierShare * outlierDensity)
	if o.Axes == 3 {
		out += math.Log(outlierLn)
	}
	return out
}

// Accepted is the weight of the components that accepted a reading at the
// present drive.
func (s *Sum) Accepted() (w float64) {
	for _, h := range s.Components {
		if h.Hits > 0 {
			w += h.Weight
		}
	}
	return w
}

// OfLaw is the weight of the components of a law of the model.
func (s *Sum) OfLaw(law int) (w float64) {
	for _, h := range s.Components {
		if h.Law == law {
			w += h.Weight
		}
	}
	return w
}

// Mean is the mean and covariance of u'v' at drive d, of the whole sum.
func (s *Sum) Mean(d []float64) (colorcalc.UV, num.Cov2) {
	var uv colorcalc.UV
	var c num.Cov2
	zs := s.work.zs[:0]
	for _, h := range s.Components {
		z, k := s.Filter.Spread(&h.State, d)
		zs = append(zs, z)
		uv.U += h.Weight * z[0]
		uv.V += h.Weight * z[1]
		c.UU += h.Weight * k.UU
		c.UV += h.Weight * k.UV
		c.VV += h.Weight * k.VV
	}
	for i, h := range s.Components {
		a, b := zs[i][0]-uv.U, zs[i][1]-uv.V
		c.UU += h.Weight * a * a
		c.UV += h.Weight * a * b
		c.VV += h.Weight * b * b
	}
	s.work.zs = zs
	return uv, c
}
