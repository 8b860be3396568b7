package solve

// hyp is one Gaussian of the sum: a law of response, a state and its
// covariance. x has n values, p is n x n row by row.
type hyp struct {
	w     float64
	law   int
	wide  bool
	scale int
	hits  int // readings accepted at the present drive
	x, p  []float64
	at    station
}

// station is what a hypothesis has read at the present drive, and what it knew
// before: further readings there are taken as one mean from that knowledge, so
// that all of them share one linearisation. Taking them one by one lets the
// state creep along directions that this drive can not tell apart.
type station struct {
	x, p []float64
	z    [3]float64 // sum of the readings
	r    cov2       // sum of their covariances
	rY   float64
	n    int
}

func (h *hyp) clone() *hyp {
	c := *h
	c.x = append([]float64(nil), h.x...)
	c.p = append([]float64(nil), h.p...)
	c.at.x = append([]float64(nil), h.at.x...)
	c.at.p = append([]float64(nil), h.at.p...)
	return &c
}

// settle makes what is known now the knowledge before the readings at a drive.
func (h *hyp) settle() {
	h.at.x = append(h.at.x[:0], h.x...)
	h.at.p = append(h.at.p[:0], h.p...)
	h.at.z, h.at.r, h.at.rY, h.at.n = [3]float64{}, cov2{}, 0, 0
}

// take adds a reading to those at the present drive and gives their mean.
func (h *hyp) take(o *obs) obs {
	a := &h.at
	for k := range o.axes {
		a.z[k] += o.z[k]
	}
	a.r.uu += o.r.uu
	a.r.uv += o.r.uv
	a.r.vv += o.r.vv
	a.rY += o.rY
	a.n++
	n := float64(a.n)
	return obs{z: [3]float64{a.z[0] / n, a.z[1] / n, a.z[2] / n}, axes: o.axes,
		r: cov2{a.r.uu / (n * n), a.r.uv / (n * n), a.r.vv / (n * n)}, rY: a.rY / (n * n)}
}

// observe is update, with further readings at a drive taken as one mean.
func (f *filter) observe(h *hyp, d []float64, o *obs) (ll float64, ok bool) {
	ll, ok = f.update(h, d, o)
	mean := h.take(o)
	if !ok || h.at.n < 2 {
		return ll, ok
	}
	copy(h.x, h.at.x)
	copy(h.p, h.at.p)
	_, ok = f.update(h, d, &mean)
	return ll, ok
}

// obs is a reading as the filter takes it: u', v', ln Y and the covariance of
// the first two.
type obs struct {
	z    [3]float64
	r    cov2
	rY   float64 // variance of ln Y
	axes int     // 2, or 3 with ln Y
}

// model is the law of a kind of mode. State indices b, b+1 are an additive
// u'v' offset: what the model can not explain at the present drive. Index g is
// the logarithm of the scale between model and meter.
type model interface {
	dim() (n, b, g int)
	// predict fills z = (u', v', ln Y as the meter has it) at drive d (fractions
	// of Max), and, unless nil, the Jacobian jac, 3 x n row by row.
	predict(law int, x, d []float64, z *[3]float64, jac []float64)
	// sane keeps the state where the law means something.
	sane(x []float64)
	// drift adds what dt seconds at drive d do to the state.
	drift(h *hyp, dt float64, d []float64)
	// moved adds the doubt that a move brings.
	moved(h *hyp, from, to []float64)
	// doubt is the variance of u' and v' that a move to `to` would add.
	doubt(h *hyp, from, to []float64) cov2
}

// filter is the scratch of the updates of one match.
type filter struct {
	m       model
	n, b, g int
	jac     []float64 // 3 x n
	ph      []float64 // n x 3: P H^T
	x0, x1  []float64 // state before the update, and before the last step
}

func newFilter(m model) *filter {
	f := &filter{m: m}
	f.n, f.b, f.g = m.dim()
	f.jac = make([]float64, 3*f.n)
	f.ph = make([]float64, 3*f.n)
	f.x0 = make([]float64, f.n)
	f.x1 = make([]float64, f.n)
	return f
}
