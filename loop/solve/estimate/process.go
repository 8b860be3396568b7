package estimate

import (
	"math"

	"trueup/colorcalc"
	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

// Process is what the drives of an engine have in common beside its law. A mode
// with two parameters is driven by the lamp's own computer, and that may
// bend and jump where no law says so: tables with corners, mixtures that change
// emitters, ends that give way. The local offset of a component knows only the
// present drive. The process knows all drives that were read: the law as it was
// before the first reading, and the residuals of the readings beside it,
// interpolated by a Gaussian process (Rasmussen and Williams 2006, algorithm 2.1)
// in the u'v' that the scales ask for: an offset, a gain, and a bend of short
// range.
type Process struct {
	Points []Point

	engine *model.Engine
	law    *Component
	aim    colorcalc.UV
	bend   float64      // variance of the bend, u' and v' each
	l      []float64    // lower Cholesky factor of the covariance of the points
	a      [2][]float64 // its inverse times the residuals
}

// Point is what was read at one drive.
type Point struct {
	Codes    []uint32
	D        []float64
	Mean     [2]float64 // reading, u' and v'
	Variance float64    // of the mean, per axis
	N        float64
	Sure     bool       // a reading here was accepted
	Ask      [2]float64 // u'v' that the scales ask for; NewProcess fills it
}

// Add takes a reading into the point.
func (pt *Point) Add(o *Obs, accepted bool) {
	if pt.Sure && !accepted {
		return // where one was accepted, those that were not do not count
	}
	if accepted && !pt.Sure {
		pt.N, pt.Sure = 0, true
	}
	pt.Mean[0] = (pt.N*pt.Mean[0] + o.Z[0]) / (pt.N + 1)
	pt.Mean[1] = (pt.N*pt.Mean[1] + o.Z[1]) / (pt.N + 1)
	pt.N++
	pt.Variance = (o.R.UU + o.R.VV) / 2 / pt.N
	if !pt.Sure {
		pt.Variance += unsure * unsure
	}
}

// NewProcess fits a process to what was read of an engine. The size of the bend is
// the likeliest of three; where the numbers hold for none, the process knows the law
// alone. aim is what Off measures from.
//
// The factor and the predictions are our own arithmetic, not gonum's: a search makes
// thousands of predictions for one decision, and they decide. A test holds them
// against gonum.
func NewProcess(e *model.Engine, law *Component, points []Point, aim colorcalc.UV) *Process {
	for i := range points {
		points[i].Ask[0], points[i].Ask[1] = e.Asked(points[i].D)
	}
	best := &Process{engine: e, law: law, aim: aim, bend: kernelBend * kernelBend} // of no points: the law alone
	top := math.Inf(-1)
	for k := range bendSizes {
		p := &Process{Points: points, engine: e, law: law, aim: aim, bend: kernelBend * kernelBend * float64(int(1)<<(2*k))}
		if ll, ok := p.fit(); ok && ll-float64(k) > top {
			top, best = ll-float64(k), p
		}
	}
	return best
}

// fit is algorithm 2.1: K = L L', a = L'^-1 L^-1 y, ln p(y) = -1/2 y' K^-1 y - ln |L|
// for the residuals y of u' and of v'.
func (p *Process) fit() (ll float64, ok bool) {
	n := len(p.Points)
	p.l = make([]float64, n*n)
	k := make([]float64, n*n)
	for i := range n {
		for j := range n {
			k[i*n+j] = p.kernel(p.Points[i].Ask, p.Points[j].Ask)
		}
		k[i*n+i] += p.Points[i].Variance
	}
	if !num.Cholesky(k, p.l, n) {
		return 0, false
	}
	for axis := range 2 {
		y := make([]float64, n)
		for i := range p.Points {
			u, v := p.engine.Colour(p.law.Law, p.law.X, p.Points[i].D)
			y[i] = p.Points[i].Mean[axis] - [2]float64{u, v}[axis]
		}
		num.Forward(p.l, y, n)
		for i, v := range y {
			ll -= v*v/2 + math.Log(max(p.l[i*n+i], leastFactor))
		}
		num.Backward(p.l, y, n)
		p.a[axis] = y
	}
	return ll, true
}

// kernel is the covariance of the residuals of two drives, by what they ask for:
// an offset, a gain about D65, and a bend with the kernel of Matérn, order 3/2
// (Rasmussen and Williams 2006, equation 4.17).
func (p *Process) kernel(a, b [2]float64) float64 {
	z := math.Sqrt(3) * math.Hypot(a[0]-b[0], a[1]-b[1]) / lengthScale
	c := [2]float64{model.D65.U, model.D65.V}
	dot := (a[0]-c[0])*(b[0]-c[0]) + (a[1]-c[1])*(b[1]-c[1])
	return kernelOffset*kernelOffset + kernelGain*kernelGain*dot + p.bend*(1+z)*math.Exp(-z)
}

// At predicts u'v' at drive d, and the variance per axis.
func (p *Process) At(d []float64) (u, v, variance float64) {
	n := len(p.Points)
	u, v = p.engine.Colour(p.law.Law, p.law.X, d)
	var ask [2]float64
	ask[0], ask[1] = p.engine.Asked(d)
	var buf [usualLooks]float64
	k := buf[:0]
	for i := range p.Points {
		c := p.kernel(ask, p.Points[i].Ask)
		k = append(k, c)
		u += c * p.a[0][i]
		v += c * p.a[1][i]
	}
	num.Forward(p.l, k, n)
	variance = p.kernel(ask, ask)
	for _, c := range k {
		variance -= c * c
	}
	return u, v, max(variance, leastProcess)
}

// Off is how far from the aim the light is predicted at drive d, and the standard
// deviation per axis.
func (p *Process) Off(d []float64) (dist, sd float64) {
	u, v, s2 := p.At(d)
	return math.Hypot(u-p.aim.U, v-p.aim.V), math.Sqrt(s2)
}

// Nearest is the point predicted nearest to the aim, and how far off; the zero Point
// where there is none.
func (p *Process) Nearest() (at Point, dist float64) {
	dist = math.Inf(1)
	for i := range p.Points {
		if d, _ := p.Off(p.Points[i].D); d < dist {
			at, dist = p.Points[i], d
		}
	}
	return at, dist
}

// restore puts what the process predicts of drive d into the local offset of a
// component.
func (p *Process) restore(h *Component, dim model.Dim, d []float64) {
	u, v, variance := p.At(d)
	a, c := p.engine.Colour(h.Law, h.X, d)
	n, b := dim.N, dim.B
	h.X[b], h.X[b+1] = u-a, v-c
	for _, i := range [...]int{b, b + 1} {
		for k := range n {
			h.P[i*n+k], h.P[k*n+i] = 0, 0
		}
		h.P[i*n+i] = variance
	}
}
