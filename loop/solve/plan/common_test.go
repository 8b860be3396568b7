package plan

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"trueup/colorcalc"
	"trueup/loop/solve/model"
	"trueup/profiles/law"
)

// reachable is a lamp and an own answer to whether it gives a colour, which knows nothing of outlines.
type reachable struct {
	region Region
	gives  func(t colorcalc.UV, within float64) bool
}

// randomEmitters has three to seven emitters round a white. A mixture of lights is a mean of their
// u'v' with weights of no sign but plus: it lies in some triangle of three of them.
func randomEmitters(r *rand.Rand) reachable {
	s := &model.Spec{Kind: model.Emitters, Curve: law.Curve{Law: law.Linear}}
	n := 3 + r.IntN(5)
	turn := r.Float64()
	for i := range n {
		a := 2 * math.Pi * (turn + (float64(i)+0.7*r.Float64())/float64(n))
		l := 0.03 + 0.12*r.Float64()
		s.Emitters = append(s.Emitters, model.Emitter{Name: fmt.Sprint(i), UV: colorcalc.UV{U: 0.21 + l*math.Cos(a), V: 0.48 + 0.5*l*math.Sin(a)}, Flux: 100})
		s.Channels = append(s.Channels, model.Channel{Name: fmt.Sprint(i), Max: 65535, Hi: 65535})
	}
	x := model.NewMixture(s).Prior()[0].X // moved where a nominal colour is none of light
	at := func(i int) colorcalc.UV { return colorcalc.UV{U: x[3*i], V: x[3*i+1]} }
	gives := func(t colorcalc.UV, within float64) bool {
		for i := range n {
			for j := range i {
				for k := range j {
					a, b, c := at(i), at(j), at(k)
					area := func(p, q, o colorcalc.UV) float64 { return (p.U-o.U)*(q.V-o.V) - (p.V-o.V)*(q.U-o.U) }
					whole := area(b, c, a)
					least := math.Inf(1)
					for _, side := range [...][2]colorcalc.UV{{a, b}, {b, c}, {c, a}} {
						h := area(side[1], t, side[0]) / side[0].Dist(side[1]) // distance from the side
						if whole < 0 {
							h = -h
						}
						least = min(least, h)
					}
					if least >= -within {
						return true
					}
				}
			}
		}
		return false
	}
	return reachable{Region{Outline: Outline(s, 0, x)}, gives}
}

// randomWhites is a lamp of colour temperature and tint: it gives what lies between the ends of both.
func randomWhites(t *testing.T, r *rand.Rand) reachable {
	lo, hi := 2200+1500*r.Float64(), 4600+3000*r.Float64()
	d := 0.004 + 0.012*r.Float64()
	s := &model.Spec{Kind: model.CCT, Channels: []model.Channel{{Max: 65535, Hi: 65535}, {Max: 65535, Hi: 65535}},
		CCT: &model.CCTSpec{Scale: law.CCT{From: colorcalc.Kelvin(lo), To: colorcalc.Kelvin(hi)}, Tint: 1, TintScale: law.Tint{From: colorcalc.Duv(-d), To: colorcalc.Duv(d)}}}
	if err := s.Check(); err != nil {
		t.Fatal(err)
	}
	// The model rounds the ends off a little; how far they go in the middle is asked of it, not where its edge is.
	e := model.NewEngine(s)
	x := e.Prior()[0].X
	end := func(a, b float64) (mired, duv float64) {
		u, v := e.At(0, x, a, b)
		k, d, err := colorcalc.CCT(colorcalc.UV{U: u, V: v}.XY())
		if err != nil {
			t.Fatal(err)
		}
		return float64(k.Mired()), float64(d)
	}
	warm, _ := end(0, 0.5)
	cold, _ := end(1, 0.5)
	_, pink := end(0.5, 0)
	_, green := end(0.5, 1)
	gives := func(uv colorcalc.UV, within float64) bool {
		k, duv, err := colorcalc.CCT(uv.XY())
		if err != nil {
			return false
		}
		m := within / 0.0004 // u'v' of one mired on the locus is 0.0004 to 0.0007
		return float64(k.Mired()) >= cold-m && float64(k.Mired()) <= warm+m && float64(duv) >= pink-within && float64(duv) <= green+within
	}
	return reachable{Region{Outline: Outline(s, 0, x)}, gives}
}

// randomXY has x and y within a triangle.
func randomXY(r *rand.Rand) reachable {
	l := func() float64 { return 0.05 * r.Float64() }
	red, green, blue := colorcalc.XY{X: 0.66 - l(), Y: 0.31 + l()}.UV(), colorcalc.XY{X: 0.2 + l(), Y: 0.68 - l()}.UV(), colorcalc.XY{X: 0.15 + l(), Y: 0.06 + l()}.UV()
	s := &model.Spec{Kind: model.XY, Channels: []model.Channel{{Max: 65535, Hi: 65535}, {Max: 65535, Hi: 65535}},
		XY: &model.XYSpec{X: 0, Y: 1, XScale: law.Line{From: 0, To: 0.8}, YScale: law.Line{From: 0, To: 0.8}, Gamut: []colorcalc.UV{red, green, blue}}}
	gives := func(t colorcalc.UV, within float64) bool {
		for _, side := range [...][2]colorcalc.UV{{red, green}, {green, blue}, {blue, red}} {
			a, b := side[0], side[1]
			if ((b.U-a.U)*(t.V-a.V)-(b.V-a.V)*(t.U-a.U))/a.Dist(b) < -within {
				return false
			}
		}
		return true
	}
	return reachable{Region{Outline: Outline(s, 0, model.NewEngine(s).Prior()[0].X)}, gives}
}

// aRig draws two to nine lamps of all kinds, and a wish somewhere about the whites.
func aRig(t *testing.T, r *rand.Rand) (rig []reachable, wish colorcalc.UV) {
	for range 2 + r.IntN(8) {
		switch r.IntN(4) {
		case 0:
			rig = append(rig, randomWhites(t, r))
		case 1:
			rig = append(rig, randomXY(r))
		default:
			rig = append(rig, randomEmitters(r))
		}
	}
	return rig, colorcalc.UV{U: 0.16 + 0.12*r.Float64(), V: 0.43 + 0.11*r.Float64()}
}

// Figures of the brute force: colours on circles round the wish, nearest first.
const (
	bruteStep = 2e-4 // of the radius
	bruteArc  = 4e-4 // along a circle
	bruteFar  = 0.15
)

// brute goes outwards from the wish until a colour is found that so many of the lamps give.
func brute(rig []reachable, wish colorcalc.UV, least int) (radius float64, ok bool) {
	for radius = 0; radius < bruteFar; radius += bruteStep {
		n := max(1, int(2*math.Pi*radius/bruteArc))
		for i := range n {
			a := 2 * math.Pi * float64(i) / float64(n)
			t := colorcalc.UV{U: wish.U + radius*math.Cos(a), V: wish.V + radius*math.Sin(a)}
			missing := len(rig) - least
			for k := range rig {
				if !rig[k].gives(t, 0) {
					if missing--; missing < 0 {
						break
					}
				}
			}
			if missing >= 0 {
				return radius, true
			}
		}
	}
	return 0, false
}

// On 200 random rigs the common colour is one that the lamps give, and none is more than 0.0005
// nearer to the wish, by brute force over what each lamp gives; for all of them, and for all but one.
func TestCommonColourIsTheNearest(t *testing.T) {
	r := rand.New(rand.NewPCG(16, 2))
	tried, none, worst := 0, 0, 0.0
	rigs := 200
	if testing.Short() {
		rigs = 30
	}
	for n := range rigs {
		rig, wish := aRig(t, r)
		var regions []Region
		for _, l := range rig {
			regions = append(regions, l.region)
		}
		least := len(rig) - n%2
		at, ok := Common(wish, regions, least)
		radius, found := brute(rig, wish, least)
		switch {
		case !ok && !found:
			none++
			continue
		case !ok:
			t.Errorf("rig %d: no common colour for %d of %d; brute force has one %.4f from the wish", n, least, len(rig), radius)
			continue
		}
		tried++
		given := 0
		for _, l := range rig {
			if l.gives(at, 5e-4) {
				given++
			}
		}
		if given < least {
			t.Errorf("rig %d: %d of %d lamps give the common colour; want %d", n, given, len(rig), least)
		}
		if found {
			worst = max(worst, at.Dist(wish)-radius)
			if d := at.Dist(wish) - radius; d > 5e-4 {
				t.Errorf("rig %d: %.5f from the wish, brute force has one at %.5f", n, at.Dist(wish), radius)
			}
		}
	}
	t.Logf("%d rigs with a common colour, %d without; farther than brute force by %.5f at most", tried, none, worst)
	if tried < rigs/2 {
		t.Errorf("only %d rigs had a common colour", tried)
	}
}

// The most that have a colour in common is what counting them at every colour of a grid gives, or more where the
// grid is too coarse.
func TestMostCommonMissesNobody(t *testing.T) {
	r := rand.New(rand.NewPCG(16, 3))
	for n := range 20 {
		rig, wish := aRig(t, r)
		var regions []Region
		for _, l := range rig {
			regions = append(regions, l.region)
		}
		at, most := MostCommon(wish, regions)
		grid := 0
		for u := 0.1; u < 0.4; u += 0.002 {
			for v := 0.35; v < 0.6; v += 0.002 {
				here := 0
				for _, l := range rig {
					if l.gives(colorcalc.UV{U: u, V: v}, 0) {
						here++
					}
				}
				grid = max(grid, here)
			}
		}
		if most < grid || reachedBy(loosened(regions), at) < most {
			t.Errorf("rig %d: %d have one in common at %v; a grid finds %d", n, most, at, grid)
		}
	}
}

func loosened(rs []Region) []Region {
	out := make([]Region, len(rs))
	for i, r := range rs {
		out[i] = Region{Outline: r.Outline, Slack: 1e-5}
	}
	return out
}

// A lamp whose colours lie on a line counts as giving what it comes near enough to.
func TestALineIsReachedWithinItsSlack(t *testing.T) {
	line := Region{Outline: []colorcalc.UV{{U: 0.2, V: 0.45}, {U: 0.2, V: 0.5}}, Slack: 0.0005}
	at, ok := Common(colorcalc.UV{U: 0.21, V: 0.47}, []Region{line}, 1)
	if want := (colorcalc.UV{U: 0.2005, V: 0.47}); !ok || at.Dist(want) > 1e-5 {
		t.Errorf("%v %v, want %v", at, ok, want)
	}
	other := Region{Outline: []colorcalc.UV{{U: 0.2012, V: 0.45}, {U: 0.2012, V: 0.5}}, Slack: 0.0005}
	if at, ok := Common(colorcalc.UV{U: 0.21, V: 0.47}, []Region{line, other}, 2); ok {
		t.Errorf("two lines 0.0012 apart have %v in common", at)
	}
}

func BenchmarkCommon400(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	var regions []Region
	for range 400 {
		l := randomEmitters(r)
		regions = append(regions, l.region)
	}
	for b.Loop() {
		MostCommon(colorcalc.UV{U: 0.2, V: 0.47}, regions)
	}
}
