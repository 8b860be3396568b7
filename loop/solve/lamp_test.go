package solve

import (
	"math"
	"math/rand/v2"
	"time"

	"trueup/colorcalc"
	"trueup/profiles/law"
)

// A small lamp for tests, not of the estimate's making: every emitter has an
// exponent, a colour and a flux of its own, the background is added, the meter
// is noisy and rounds. The bench in loop/looptest has spectral ones.
type lamp struct {
	law    law.Curve
	uv     []colorcalc.UV
	flux   []float64
	exp    []float64
	spill  colorcalc.XYZ
	lux    float64
	sigma  float64
	order  []int               // slot of each emitter, if not its own
	dead   bool                // shines, but does not listen
	cut    float64             // drive below which an emitter is dark
	dimmed func(Drive) float64 // light that a dimmer lets through, where there is one
	rng    *rand.Rand
	max    []uint32
}

var (
	red   = colorcalc.XY{X: 0.69, Y: 0.305}.UV()
	green = colorcalc.XY{X: 0.19, Y: 0.71}.UV()
	blue  = colorcalc.XY{X: 0.145, Y: 0.05}.UV()
	amber = colorcalc.XY{X: 0.58, Y: 0.415}.UV()
	lime  = colorcalc.XY{X: 0.41, Y: 0.54}.UV()
	cyan  = colorcalc.XY{X: 0.09, Y: 0.42}.UV()
	white = colorcalc.XY{X: 0.36, Y: 0.365}.UV()
)

// sevenSpec is a spec of the first n of seven emitters, doubled beyond.
func sevenSpec(n int, max uint32) Spec {
	e := []Emitter{{Name: "red", UV: red, Flux: 90}, {Name: "green", UV: green, Flux: 160}, {Name: "blue", UV: blue, Flux: 30},
		{Name: "white", UV: white, Flux: 260, White: true}, {Name: "amber", UV: amber, Flux: 80}, {Name: "lime", UV: lime, Flux: 220}, {Name: "cyan", UV: cyan, Flux: 70}}
	s := Spec{Name: "test lamp", Kind: Emitters, Curve: law.Curve{Law: law.Linear}}
	for i := range n {
		s.Emitters = append(s.Emitters, e[i%len(e)])
		s.Channels = append(s.Channels, Channel{Name: s.Emitters[i].Name, Max: max, Hi: max})
	}
	return s
}

// unit draws a lamp of a spec; scatter 1 is a usual bin.
func unit(s Spec, seed uint64, scatter float64) *lamp {
	r := rand.New(rand.NewPCG(seed, 99))
	l := &lamp{law: s.Curve, sigma: 0.0004, rng: r, lux: 3.7, spill: colorcalc.UV{U: 0.22, V: 0.5}.XYZ(1.5)}
	for i, e := range s.Emitters {
		d, _, ok := e.Narrow()
		nm := 2.5 * r.NormFloat64() * scatter
		uv := e.UV
		if ok {
			uv.U += d[0] * nm
			uv.V += d[1] * nm
		} else {
			uv.U += 0.0018 * r.NormFloat64() * scatter
			uv.V += 0.0018 * r.NormFloat64() * scatter
		}
		l.uv = append(l.uv, uv)
		l.flux = append(l.flux, e.Flux*(1+0.1*r.NormFloat64()*scatter))
		l.exp = append(l.exp, 1+0.012*r.NormFloat64())
		l.max = append(l.max, s.Channels[i].Max)
	}
	return l
}

func (l *lamp) light(d Drive) colorcalc.XYZ {
	var q colorcalc.XYZ
	for i := range l.uv {
		k := i
		if l.order != nil {
			k = l.order[i]
		}
		f := float64(d[k]) / float64(l.max[k])
		if l.dead {
			f = 0.5
		}
		if f < l.cut {
			continue
		}
		q = q.Add(l.uv[i].XYZ(l.flux[i] * math.Pow(respond(l.law, f), l.exp[i])))
	}
	if l.dimmed != nil {
		q = q.Scale(l.dimmed(d))
	}
	return q.Add(l.spill).Scale(l.lux)
}

func (l *lamp) read(d Drive, at time.Duration) Reading {
	q := l.light(d)
	uv := q.UV()
	uv.U += l.sigma * l.rng.NormFloat64()
	uv.V += l.sigma * l.rng.NormFloat64()
	xy := uv.XY()
	xy.X, xy.Y = math.Round(xy.X*1e4)/1e4, math.Round(xy.Y*1e4)/1e4
	return Reading{UV: xy.UV(), Y: q.Y * (1 + 0.006*l.rng.NormFloat64()), HasY: true, SigmaUV: l.sigma, SigmaLnY: 0.006, RoundXY: 1e-4, At: at, Drive: d}
}

// play runs a match against a lamp and returns the end and the readings.
func play(m *Match, l *lamp) (Decision, int) {
	return playBy(m, func(_ int, d Drive, at time.Duration) Reading { return l.read(d, at) })
}

// playBy is play with readings of any kind, each with how many were taken before.
func playBy(m *Match, read func(n int, d Drive, at time.Duration) Reading) (Decision, int) {
	at := time.Duration(0)
	var now Drive
	for n := 0; ; n++ {
		d := m.Next(at)
		if d.Action == Done || n > 200 {
			return d, n
		}
		if d.Action == Move {
			now = d.Drive
			at += 500 * time.Millisecond
		}
		at += 300 * time.Millisecond
		m.Observe(read(n, now, at))
	}
}

// respond is the light of the lamp at drive f, by a formula of its own.
func respond(c law.Curve, f float64) float64 {
	switch c.Law {
	case law.Square:
		return f * f
	case law.Gamma:
		return math.Pow(f, 2.2)
	case law.SCurve:
		return f * f * (3 - 2*f)
	}
	return f
}
