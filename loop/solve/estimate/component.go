package estimate

import (
	"slices"

	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

// Component is one Gaussian of the sum.
type Component struct {
	model.Component
	Hits int // readings accepted at the present drive
	at   station
}

// Obs is a reading as the filter takes it.
type Obs struct {
	Z    [3]float64 // u', v', ln Y
	R    num.Cov2   // covariance of u' and v'
	RY   float64    // variance of ln Y
	Axes int        // 2, or 3 with ln Y
}

// station is what a component has read at the present drive, and what it knew
// before: further readings there are taken as one mean from that knowledge, so
// that all of them share one linearisation. Taking them one by one lets the
// state creep along directions that this drive can not tell apart.
type station struct {
	x, p []float64  // state and covariance before the readings
	z    [3]float64 // sum of the readings
	r    num.Cov2   // sum of their covariances
	rY   float64
	n    int
}

// Clone shares nothing with c.
func (c *Component) Clone() *Component {
	k := *c
	k.X, k.P = slices.Clone(c.X), slices.Clone(c.P)
	k.at.x, k.at.p = slices.Clone(c.at.x), slices.Clone(c.at.p)
	return &k
}

// newStation makes what is known now the knowledge before the readings at a
// drive.
func (c *Component) newStation() {
	c.at.x = append(c.at.x[:0], c.X...)
	c.at.p = append(c.at.p[:0], c.P...)
	c.at.z, c.at.r, c.at.rY, c.at.n = [3]float64{}, num.Cov2{}, 0, 0
}

// pool adds a reading to those at the present drive and gives their mean.
func (c *Component) pool(o *Obs) Obs {
	a := &c.at
	for k := range o.Axes {
		a.z[k] += o.Z[k]
	}
	a.r.UU += o.R.UU
	a.r.UV += o.R.UV
	a.r.VV += o.R.VV
	a.rY += o.RY
	a.n++
	n := float64(a.n)
	return Obs{Z: [3]float64{a.z[0] / n, a.z[1] / n, a.z[2] / n}, Axes: o.Axes,
		R: num.Cov2{UU: a.r.UU / (n * n), UV: a.r.UV / (n * n), VV: a.r.VV / (n * n)}, RY: a.rY / (n * n)}
}
