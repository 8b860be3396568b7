package looptest

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
	"trueup/loop/stage"
	"trueup/profiles/law"
)

// Tol is the tolerance of the bench, u'v'.
const Tol = 0.0010

// Aim is where the targets of a class lie.
type Aim int

// Aims. The first two are inside what the lamp can do.
const (
	NearWhite Aim = iota // 2700-8000 K, Duv within 0.010; engines: the inner range
	Saturated            // far from white; engines: the whole range
	Outside              // outside gamut or range by 0.002 to 0.03
	OtherUnit            // what another unit of the kind gives at a corner
)

// Class describes a kind of case. The zero value is an emitter lamp with a good
// profile, near white, 16 bit.
type Class struct {
	Name   string
	Goal   [2]int     // readings, median and 95th percentile; 0 = none stated
	Engine bool       // an engine of Mode, else emitters one by one
	Mode   stage.Mode // with Engine
	Aim    Aim
	Bits   int  // 8 or 16; 0 = 16
	Quiet  bool // sigma at most 0.0003

	LawWrong     bool    // the profile states another law
	LawUnknown   bool    // the profile states none
	PrimariesOff float64 // the profile's primaries are wrong by this, CIE 1931 xy
	SigmaLearnt  bool    // the tool is told sigma from eight repeats, not the true one
	NoLevel      bool    // the feed has no level
	Cold         bool    // stone cold lamps
	Spread       float64 // unit bins times this; 0 = 1
	Fault        *Fault  // what is wrong with the lamp; nil = nothing
	Kinds        int     // draw from this many kinds only; 0 = a new kind for each case
}

// Case is one lamp, one meter, one target.
type Case struct {
	Class     Class
	Seed      uint64
	Kind      stage.Kind
	Unit      *stage.Unit
	Channels  []stage.Channel
	Spec      solve.Spec
	Target    solve.Target
	Options   solve.Options
	Meter     stage.MeterSpec
	ToldSigma float64
	Ambient   colorcalc.XYZ // beside the lamp's own units
	Lux       float64       // lux per unit of the lamp's flux
	Full      float64       // light of the lamp at full, own units
	Found     solve.Drive   // as it stands at the start
	Warmth    float64       // 0..1 of the warmth of the look as found
	NoLevel   bool
	Reachable bool

	draw func(stage.Kind) *stage.Unit
}

// NewCase draws the n-th case of a class. The same seed gives the same case,
// whatever was drawn before.
func (cl Class) NewCase(seed uint64, n int) *Case {
	kind := uint64(n)
	if cl.Kinds > 0 {
		kind = uint64(n % cl.Kinds)
	}
	return cl.Unit(seed, kind, fmt.Sprint(n), 0)
}

// Unit draws a case of one unit of one kind. Further targets for the same unit
// have other numbers.
func (cl Class) Unit(seed, kind uint64, unit string, target int) *Case {
	rk := rand.New(rand.NewPCG(seed, 2*kind+1))
	k, channels := cl.kind(rk, kind)
	spread := cl.Spread
	if spread == 0 {
		spread = 1
	}
	c := &Case{Class: cl, Seed: seed ^ hash(unit) ^ uint64(target)<<32, Kind: k, Channels: channels,
		draw: func(k stage.Kind) *stage.Unit {
			return stage.Draw(k, stage.KindScatter, stage.UnitScatter.Scale(spread), seed^kind<<20, unit)
		}}
	c.Unit = c.draw(k)
	ru := rand.New(rand.NewPCG(seed^kind<<20, hash(unit)))
	c.Lux = 40 * math.Exp(3*ru.Float64())
	c.NoLevel = cl.NoLevel
	c.Spec = cl.profile(k, channels, rk)
	c.found(ru)
	c.ambient(ru)
	c.meter(ru)
	rt := rand.New(rand.NewPCG(c.Seed, 77))
	c.aim(rt, seed, kind)
	o := solve.DefaultOptions()
	o.Level = 0.35 + 0.6*ru.Float64()
	o.SigmaUV = c.ToldSigma
	o.Sample, o.Settle = c.Meter.Integration+c.Meter.Latency, settleWait+300*time.Millisecond
	c.Options = o
	// A target meant to lie outside can by chance be one that a bent engine
	// reaches after all: then another is drawn.
	for tries := 0; cl.Aim == Outside && tries < 20 && c.Start().nearest(c.Target.UV) < 0.0012; tries++ {
		c.aim(rt, seed, kind)
	}
	c.spoilt(rt)
	return c
}

func hash(s string) uint64 {
	h := uint64(14695981039346656037)
	for i := range len(s) {
		h = (h ^ uint64(s[i])) * 1099511628211
	}
	return h
}

func (cl Class) kind(r *rand.Rand, n uint64) (stage.Kind, []stage.Channel) {
	top := uint32(65535)
	if cl.Bits == 8 {
		top = 255
	}
	name := fmt.Sprintf("kind-%d", n)
	if !cl.Engine {
		mix := mixes[r.IntN(len(mixes))]
		k := lampKind(name, mix, r)
		k.Law = stage.Law(r.IntN(4))
		var ch []stage.Channel
		for i := range mix {
			ch = append(ch, stage.Channel{Role: stage.RoleEmitter, Emitter: i, Max: top})
		}
		return k, ch
	}
	first := stage.Channel{Role: stage.RoleFirst, Max: top}
	second := stage.Channel{Role: stage.RoleSecond, Max: top}
	switch cl.Mode {
	case stage.ByCCT:
		p := panels[r.IntN(len(panels))]
		k := lampKind(name, p.emitters, r)
		k.Engine = &stage.Engine{Mode: stage.ByCCT, From: p.from, To: p.to, Duv: p.duv, Early: 0.03 * r.Float64(), KnotsM: 7, KnotsD: 5}
		first.Lo, first.Hi, first.Reciprocal = float64(p.from), float64(p.to), p.reciprocal
		second.Lo, second.Hi = -float64(p.duv), float64(p.duv)
		return k, []stage.Channel{first, second}
	case stage.ByXY:
		k := lampKind(name, [][]string{{"red", "green", "blue", "white"}, {"red", "green", "blue", "lime"}, {"red", "green", "blue", "amber", "lime"}}[r.IntN(3)], r)
		k.Engine = &stage.Engine{Mode: stage.ByXY}
		first.Hi, second.Hi = 0.8, 0.8
		return k, []stage.Channel{first, second}
	default:
		k := lampKind(name, []string{"red", "green", "blue"}, r)
		k.Engine = &stage.Engine{Mode: stage.ByHueSat, White: stage.White(colorcalc.Kelvin(6500).Mired(), 0.003)}
		first.Hi, second.Hi = 360*float64(top)/float64(top+1), 1
		return k, []stage.Channel{first, second}
	}
}

// profile is what the tool is told: the data sheet, spoilt as the class says.
func (cl Class) profile(k stage.Kind, ch []stage.Channel, r *rand.Rand) solve.Spec {
	s := profileOf(k, ch, ch[0].Max)
	if cl.LawUnknown {
		s.Curve = law.Curve{}
	}
	if cl.LawWrong {
		s.Curve = solveLaw[(k.Law+stage.Law(1+r.IntN(3)))%4]
	}
	if cl.PrimariesOff > 0 {
		for i := range s.Emitters {
			a := 2 * math.Pi * r.Float64()
			xy := s.Emitters[i].UV.XY()
			bad := colorcalc.XY{X: xy.X + cl.PrimariesOff*math.Cos(a), Y: xy.Y + cl.PrimariesOff*math.Sin(a)}
			if bad.X < 0.01 || bad.Y < 0.01 || bad.X+bad.Y > 0.99 {
				bad = colorcalc.XY{X: 2*xy.X - bad.X, Y: 2*xy.Y - bad.Y} // the other way
			}
			bad.X, bad.Y = max(bad.X, 0.02), max(bad.Y, 0.02)
			s.Emitters[i].UV = bad.UV()
		}
	}
	return s
}

// found is the look before anybody touched the lamp: about half light, about white.
func (c *Case) found(r *rand.Rand) {
	c.Found = make(solve.Drive, len(c.Channels))
	for i, ch := range c.Channels {
		c.Found[i] = uint32(float64(ch.Max) * (0.35 + 0.4*r.Float64()))
	}
	if c.Spec.HueSat != nil {
		c.Found[1] = c.Channels[1].Max / 10
	}
	if c.Spec.XY != nil {
		c.Found = solve.Drive{uint32(0.33 / 0.8 * float64(c.Channels[0].Max)), uint32(0.34 / 0.8 * float64(c.Channels[1].Max))}
	}
	c.Warmth = 0.4 + 0.6*r.Float64()
	if c.Class.Cold {
		c.Warmth = 0
	}
	p := stage.NewPlant(c.Unit, c.Channels)
	if c.Spec.Kind == solve.Emitters {
		all := make([]uint32, len(c.Channels))
		for i := range all {
			all[i] = c.Channels[i].Max
		}
		c.Full = p.Would(all).Y
	} else {
		c.Full = p.Would(c.Found).Y
	}
}

// ambient is spill of up to 1.2 % of the lamp's full light, warm or cool.
func (c *Case) ambient(r *rand.Rand) {
	k := 2800 + 4000*r.Float64()
	share := 0.012 * r.Float64()
	c.Ambient = stage.White(colorcalc.Kelvin(k).Mired(), colorcalc.Duv(0.006*r.NormFloat64())).XYZ(share * c.Full)
}

func (c *Case) meter(r *rand.Rand) {
	sigma := 0.0002 + 0.0006*r.Float64()
	if c.Class.Quiet {
		sigma = 0.0002 + 0.0001*r.Float64()
	}
	c.Meter = stage.MeterSpec{Integration: 250 * time.Millisecond, Latency: 100 * time.Millisecond, SigmaUV: sigma,
		SigmaLevel: 0.004 + 0.005*r.Float64(), RoundXY: 1e-4, RoundLux: 0.01, Outlier: 0.01, Dropout: 0.01, Stale: 0.005}
	c.ToldSigma = sigma
	if c.Class.SigmaLearnt {
		// Eight repeats, 14 squared deviations, drawn towards 0.0005 with four.
		sum := 4 * 2 * 0.0005 * 0.0005
		for range 14 {
			z := sigma * r.NormFloat64()
			sum += z * z
		}
		c.ToldSigma = math.Sqrt(sum / (4*2 + 14))
	}
}
