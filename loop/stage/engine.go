package stage

import (
	"math"
	"math/rand/v2"

	"trueup/colorcalc"
)

// Mode says which two parameters a lamp's own computer takes.
type Mode int

// Modes of engines.
const (
	ByCCT    Mode = iota // kelvin and Duv
	ByXY                 // x and y
	ByHueSat             // degrees and 0..1, in the lamp's own red, green, blue
)

// Engine is a lamp's own computer: it turns two parameters into a mixture of
// real emitters by what the factory believes of them. That the emitters of a
// unit are others is what makes its CCT wrong, its tint lean and the two axes
// disturb each other; nothing of that is written in as such.
type Engine struct {
	Mode   Mode
	From   colorcalc.Kelvin // ByCCT: warm end of the range
	To     colorcalc.Kelvin // ByCCT: cool end
	Duv    colorcalc.Duv    // ByCCT: tint reaches from -Duv to +Duv
	White  colorcalc.XY     // ByHueSat: the light at saturation 0
	Early  float64          // half width, relative, of where a unit's range ends before its face says so
	KnotsM int              // ByCCT: knots of the factory table over mired
	KnotsD int              // ByCCT: knots over Duv
}

// table is an engine as built into one unit.
type table struct {
	Engine
	factory      []colorcalc.XYZ // the emitters as the factory believes them
	gain         []float64       // what the unit makes of each share
	lo, hi       float64         // ByCCT: mired at which the unit's range really ends
	dlo, dhi     float64         // Duv likewise
	knots        [][]float64     // [mired*KnotsD+duv][emitter]
	top          float64         // Y that every setting can reach
	primaries    [3]int          // ByHueSat: emitters taken as red, green, blue
	balance      [3]float64      // ByHueSat: shares that make White
	emitterCount int
}

func (e *Engine) build(nominal []emitter, kindKnot, unitKnot float64, rk, ru *rand.Rand) *table {
	t := &table{Engine: *e, emitterCount: len(nominal)}
	for i := range nominal {
		t.factory = append(t.factory, nominal[i].at(15, 0))
		t.gain = append(t.gain, 1+spread(rk, kindKnot)+spread(ru, unitKnot))
	}
	switch e.Mode {
	case ByCCT:
		t.buildCCT(kindKnot, unitKnot, rk, ru)
	case ByHueSat:
		t.buildHueSat()
	}
	return t
}

func (t *table) buildCCT(kindKnot, unitKnot float64, rk, ru *rand.Rand) {
	lo, hi := float64(t.To.Mired()), float64(t.From.Mired())
	t.lo, t.hi = lo*(1+t.Early*ru.Float64()), hi*(1-t.Early*ru.Float64())
	d := float64(t.Duv)
	t.dlo, t.dhi = -d*(1-3*t.Early*ru.Float64()), d*(1-3*t.Early*ru.Float64())
	t.top = math.Inf(1)
	levels := make([]float64, 0, t.KnotsM*t.KnotsD)
	for i := range t.KnotsM {
		m := lo + (hi-lo)*float64(i)/float64(t.KnotsM-1)
		for j := range t.KnotsD {
			p, y := t.nearestMix(m, d*(2*float64(j)/float64(t.KnotsD-1)-1))
			levels = append(levels, y)
			t.top = min(t.top, y)
			t.knots = append(t.knots, p)
		}
	}
	for k, p := range t.knots {
		for i := range p {
			p[i] *= t.top / levels[k] * (1 + spread(rk, kindKnot) + spread(ru, unitKnot))
		}
	}
}

// nearestMix gives the brightest mixture for a temperature and a Duv. Where the
// emitters do not reach that far, it comes back along the tint axis first: that
// is what panels do at the ends of their range.
func (t *table) nearestMix(m, d float64) ([]float64, float64) {
	if t.emitterCount == 2 {
		return betweenTwo(t.factory[0], t.factory[1], White(colorcalc.Mired(m), colorcalc.Duv(d)).UV())
	}
	for k := 1.0; k > -0.01; k -= 0.02 {
		// Two whites alone lie below the locus: 0 of the tint may be out of reach too.
		for _, dd := range []float64{d * k, -0.003 + (d+0.003)*k, -0.006 + (d+0.006)*k} {
			if p, y := brightest(t.factory, White(colorcalc.Mired(m), colorcalc.Duv(dd))); y > 0 {
				return p, y
			}
		}
	}
	mid := (float64(t.From.Mired()) + float64(t.To.Mired())) / 2
	if math.Abs(m-mid) < 1 {
		// No white at all from these emitters: everything on is what is left.
		p := make([]float64, t.emitterCount)
		y := 0.0
		for i := range p {
			p[i] = 1
			y += t.factory[i].Y
		}
		return p, y
	}
	return t.nearestMix(m+(mid-m)*0.05, d)
}

// betweenTwo gives the mixture of two emitters that lies nearest to a
// chromaticity: all that a lamp with two whites can do. The distance along the
// line between them has one minimum.
func betweenTwo(a, b colorcalc.XYZ, c colorcalc.UV) ([]float64, float64) {
	lo, hi := 0.0, 1.0
	mix := func(f float64) colorcalc.XYZ { return a.Scale(1 - f).Add(b.Scale(f)) }
	for range 60 {
		l, r := lo+(hi-lo)/3, hi-(hi-lo)/3
		if mix(l).UV().Dist(c) < mix(r).UV().Dist(c) {
			hi = r
		} else {
			lo = l
		}
	}
	f := (lo + hi) / 2
	k := 1 / max(f, 1-f)
	return []float64{(1 - f) * k, f * k}, mix(f).Y * k
}

// brightest finds the brightest mixture of at most three emitters, each at most
// 1, with a chromaticity. Y is 0 when it is outside all triangles.
func brightest(e []colorcalc.XYZ, c colorcalc.XY) ([]float64, float64) {
	best, top := make([]float64, len(e)), 0.0
	w := c.XYZ(1)
	for i := range e {
		for j := i + 1; j < len(e); j++ {
			for k := j + 1; k < len(e); k++ {
				p, ok := mix3(e[i], e[j], e[k], w)
				if !ok || p == ([3]float64{}) { // no mixture is "no light", as y = 0 asks for
					continue
				}
				if y := 1 / max(p[0], p[1], p[2]); y > top {
					top = y
					clear(best)
					best[i], best[j], best[k] = p[0]*y, p[1]*y, p[2]*y
				}
			}
		}
	}
	return best, top
}

// mix3 solves a*p0 + b*p1 + c*p2 = w; ok when no share is negative.
func mix3(a, b, c, w colorcalc.XYZ) (p [3]float64, ok bool) {
	det := func(a, b, c colorcalc.XYZ) float64 {
		return a.X*(b.Y*c.Z-b.Z*c.Y) - b.X*(a.Y*c.Z-a.Z*c.Y) + c.X*(a.Y*b.Z-a.Z*b.Y)
	}
	d := det(a, b, c)
	if d == 0 {
		return p, false
	}
	p = [3]float64{det(w, b, c) / d, det(a, w, c) / d, det(a, b, w) / d}
	const least = -1e-9 // a target on an edge is inside
	for i := range p {
		if !(p[i] > least) || math.IsInf(p[i], 0) {
			return p, false
		}
		p[i] = max(p[i], 0)
	}
	return p, true
}

// mix writes the shares 0..1 of the emitters for two parameters.
func (t *table) mix(a, b float64, dst []float64) {
	switch t.Mode {
	case ByCCT:
		t.mixCCT(a, b, dst)
	case ByXY:
		t.mixXY(colorcalc.XY{X: a, Y: b}, dst)
	case ByHueSat:
		t.mixHueSat(a, b, dst)
	}
	for i := range dst {
		dst[i] = min(max(dst[i]*t.gain[i], 0), 1)
	}
}

func (t *table) mixCCT(kelvin, duv float64, dst []float64) {
	m := 1e6 / max(kelvin, 1)
	m, duv = min(max(m, t.lo), t.hi), min(max(duv, t.dlo), t.dhi)
	lo, hi := float64(t.To.Mired()), float64(t.From.Mired())
	i, f := knot((m-lo)/(hi-lo), t.KnotsM)
	j, g := knot((duv/float64(t.Duv)+1)/2, t.KnotsD)
	at := func(i, j int) []float64 { return t.knots[i*t.KnotsD+j] }
	for e := range dst {
		dst[e] = (1-f)*((1-g)*at(i, j)[e]+g*at(i, j+1)[e]) + f*((1-g)*at(i+1, j)[e]+g*at(i+1, j+1)[e])
	}
}

// knot finds the cell of z (0..1) among n knots, and how far into it z lies.
func knot(z float64, n int) (int, float64) {
	z = min(max(z, 0), 1) * float64(n-1)
	i := min(int(z), n-2)
	return i, z - float64(i)
}

// mixXY comes back towards equal-energy white where the target is outside.
func (t *table) mixXY(c colorcalc.XY, dst []float64) {
	for range 60 {
		if p, y := brightest(t.factory, c); y > 0 {
			copy(dst, p)
			return
		}
		c.X += (1.0/3 - c.X) * 0.04
		c.Y += (1.0/3 - c.Y) * 0.04
	}
	for i := range dst {
		dst[i] = 1
	}
}

func (t *table) buildHueSat() {
	// Red, green and blue are the reddest, greenest and bluest of the emitters.
	score := func(f func(colorcalc.XY) float64) int {
		best := 0
		for i, e := range t.factory {
			if f(e.XY()) > f(t.factory[best].XY()) {
				best = i
			}
		}
		return best
	}
	t.primaries = [3]int{
		score(func(c colorcalc.XY) float64 { return c.X }),
		score(func(c colorcalc.XY) float64 { return c.Y }),
		score(func(c colorcalc.XY) float64 { return -c.X - c.Y }),
	}
	r, g, b := t.factory[t.primaries[0]], t.factory[t.primaries[1]], t.factory[t.primaries[2]]
	p, ok := mix3(r, g, b, t.White.XYZ(1))
	if !ok {
		p = [3]float64{1, 1, 1}
	}
	top := max(p[0], p[1], p[2])
	t.balance = [3]float64{p[0] / top, p[1] / top, p[2] / top}
}

// mixHueSat: hue in degrees from red over green to blue, saturation 0..1, in
// the lamp's own red, green and blue balanced to its white. One of the three is
// always full, as in the usual six-sector rule.
func (t *table) mixHueSat(hue, sat float64, dst []float64) {
	clear(dst)
	h := math.Mod(math.Mod(hue, 360)+360, 360) / 60
	s := min(max(sat, 0), 1)
	for k, shift := range [3]float64{0, 2, 4} {
		d := math.Abs(math.Mod(h-shift+9, 6) - 3) // distance from the primary, in sectors
		pure := min(max(2-d, 0), 1)
		dst[t.primaries[k]] = t.balance[k] * (1 - s*(1-pure))
	}
}
