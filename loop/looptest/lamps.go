package looptest

import (
	"math/rand/v2"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
	"trueup/loop/stage"
	"trueup/profiles/law"
)

// mixes are the emitter sets of the bench, three to seven emitters.
var mixes = [][]string{
	{"red", "green", "blue"},
	{"red", "green", "blue", "white"},
	{"red", "green", "blue", "warm white"},
	{"red", "green", "blue", "amber"},
	{"red", "green", "blue", "lime"},
	{"red", "green", "blue", "lime", "white"},
	{"red", "green", "blue", "amber", "lime", "white"},
	{"red", "amber", "lime", "green", "cyan", "blue", "indigo"},
}

// panels are the engine-driven lamps of the bench.
type panel struct {
	emitters   []string
	from, to   colorcalc.Kelvin
	duv        colorcalc.Duv
	reciprocal bool
}

var panels = []panel{
	{[]string{"warm white", "cool white", "green", "red", "blue"}, 2700, 6500, 0.015, false},
	{[]string{"warm white", "cool white", "lime", "red", "blue"}, 2000, 10000, 0.014, true},
	{[]string{"warm white", "cool white", "green"}, 2800, 6000, 0.010, false},
}

// lampKind makes a kind from names. Which heat and limiter it has is drawn with
// the kind, as one maker builds alike.
func lampKind(name string, emitters []string, r *rand.Rand) stage.Kind {
	k := stage.Kind{Name: name, Heat: stage.WarmLamp, CutOff: 0.012, PerEmitter: 0.012,
		Response: 60 * time.Millisecond, Delay: 30 * time.Millisecond}
	for _, n := range emitters {
		e, ok := stage.Nominal(n)
		if !ok {
			panic("looptest: no emitter called " + n) // a slip in this file
		}
		k.Emitters = append(k.Emitters, e)
	}
	k.Heat.Sink *= 0.7 + 0.6*r.Float64()
	k.Heat.SinkTime = time.Duration(float64(k.Heat.SinkTime) * (0.6 + 0.9*r.Float64()))
	switch {
	case r.Float64() < 0.25:
		k.Limit = 0.55 + 0.3*r.Float64()
	case r.Float64() < 0.2:
		k.Heat.ShiftWithCurrent = 1.5 // dimmed by current, not by pulse width
	}
	return k
}

var solveLaw = map[stage.Law]law.Curve{
	stage.Linear: {Law: law.Linear},
	stage.Square: {Law: law.Square},
	stage.SCurve: {Law: law.SCurve},
	stage.Gamma:  {Law: law.Gamma, Gamma: 2.6},
}

// profileOf is what a profile written from the data sheet says of a kind.
func profileOf(k stage.Kind, channels []stage.Channel, maxCode uint32) solve.Spec {
	s := solve.Spec{Name: k.Name, Kind: solve.Emitters, Curve: solveLaw[k.Law]}
	for range channels {
		s.Channels = append(s.Channels, solve.Channel{Max: maxCode, Hi: maxCode})
	}
	if k.Engine == nil {
		for i, e := range k.Emitters {
			s.Channels[i].Name = e.Name
			xyz := e.Light()
			s.Emitters = append(s.Emitters, solve.Emitter{Name: e.Name, UV: xyz.UV(), Flux: xyz.Y,
				White: e.Form == stage.Phosphor && len(e.Bands) == 2})
		}
		return s
	}
	a, b := channels[0], channels[1]
	switch k.Engine.Mode {
	case stage.ByCCT:
		s.Kind = solve.CCT
		s.Channels[0].Name, s.Channels[1].Name = "cct", "tint"
		codes := law.Whole(maxCode)
		s.CCT = &solve.CCTSpec{Channel: 0, Scale: law.CCT{Range: codes, From: colorcalc.Kelvin(a.Lo), To: colorcalc.Kelvin(a.Hi), Mired: a.Reciprocal},
			Tint: 1, TintScale: law.Tint{Range: codes, Unit: law.TintDuv, From: colorcalc.Duv(b.Lo), To: colorcalc.Duv(b.Hi)}}
	case stage.ByXY:
		s.Kind = solve.XY
		s.Channels[0].Name, s.Channels[1].Name = "x", "y"
		s.XY = &solve.XYSpec{X: 0, Y: 1, XScale: scaleOf(a), YScale: scaleOf(b)}
		for _, e := range k.Emitters {
			s.XY.Gamut = append(s.XY.Gamut, e.Light().UV())
		}
	case stage.ByHueSat:
		s.Kind = solve.HueSat
		s.Channels[0].Name, s.Channels[1].Name = "hue", "saturation"
		s.HueSat = &solve.HueSatSpec{Hue: 0, Sat: 1, HueScale: law.Hue{Line: scaleOf(a)}, SatScale: scaleOf(b), Red: k.Emitters[0].Light().UV(), Green: k.Emitters[1].Light().UV(),
			Blue: k.Emitters[2].Light().UV(), White: k.Engine.White.UV()}
	}
	return s
}

// scaleOf is a channel's scale as the manual has it.
func scaleOf(c stage.Channel) law.Line {
	return law.Line{Range: law.Whole(c.Max), From: c.Lo, To: c.Hi}
}
