package plan

import (
	"cmp"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
)

// madeUp is a lamp of the kind that exists: red, green, blue and some more, and a
// reference that it can reach.
type madeUp struct {
	reference spectrum.Spectrum
	target    colorcalc.UV
	palette   Palette
	emitters  []quality.Emitter
}

// kinds of emitter: peak, its scatter, width, light of the whole.
var kinds = map[string][4]float64{
	"red": {627, 6, 19, 1.2}, "green": {526, 6, 35, 2.2}, "blue": {455, 6, 21, 0.35},
	"amber": {593, 4, 17, 0.9}, "lime": {552, 5, 105, 3.2}, "cyan": {499, 5, 28, 1.1}, "deep red": {657, 5, 21, 0.35}, "indigo": {431, 6, 19, 0.1},
	"cool": {0, 0, 0, 4}, "warm": {0, 0, 0, 4},
}

func madeUpLamp(r *rand.Rand, emitters int) madeUp {
	for {
		names := []string{"red", "green", "blue"}
		more := []string{"amber", "lime", "cyan", "deep red", "indigo", "cool", "warm"}
		r.Shuffle(len(more), func(i, j int) { more[i], more[j] = more[j], more[i] })
		names = append(names, more[:emitters-3]...)
		var m madeUp
		for _, name := range names {
			k := kinds[name]
			peak, width := k[0]+k[1]*r.NormFloat64(), k[2]*math.Exp(0.1*r.NormFloat64())
			terms := [][4]float64{{1, peak, width, width * (1 + 0.3*r.Float64())}}
			switch name {
			case "cool":
				terms = [][4]float64{{1 + 0.3*r.Float64(), 455 + 6*r.NormFloat64(), 20, 22}, {1, 555 + 6*r.NormFloat64(), 95, 130}}
			case "warm":
				terms = [][4]float64{{0.3 * r.Float64(), 452 + 5*r.NormFloat64(), 22, 24}, {1, 598 + 6*r.NormFloat64(), 95, 135}}
			}
			s := bands(terms)
			y := k[3] * math.Exp(0.25*r.NormFloat64())
			c := s.XYZ(spectrum.Deg2)
			m.emitters = append(m.emitters, quality.Emitter{Spectrum: s, Luminance: y})
			m.palette.Full, m.palette.Most = append(m.palette.Full, c.Scale(y/c.Y)), append(m.palette.Most, 1)
		}
		m.reference = madeUpReference(r)
		xy, err := m.reference.XY()
		if err != nil {
			continue
		}
		m.target = xy.UV()
		if mixing, err := quality.NewMixing(m.reference, m.emitters, quality.Eye(spectrum.Deg2)); err == nil {
			if _, err := Brightest(mixing, m.palette, m.target); err == nil {
				return m
			}
		}
	}
}

func madeUpReference(r *rand.Rand) spectrum.Spectrum {
	switch r.IntN(4) {
	case 0:
		if s, err := spectrum.Daylight(colorcalc.Kelvin(4500+3500*r.Float64()), spectrum.Visible5); err == nil {
			return s
		}
	case 1:
		if s, err := spectrum.Planck(colorcalc.Kelvin(2700+600*r.Float64()), spectrum.Visible5); err == nil {
			return s
		}
	case 2:
		return bands([][4]float64{{0.2 + 0.9*r.Float64(), 450 + 5*r.NormFloat64(), 20, 22}, {1, 570 + 15*r.NormFloat64(), 100, 135}})
	}
	s := bands([][4]float64{{0.4, 560, 200, 200}}) // a discharge: lines on a continuum
	for _, nm := range []float64{405, 436, 475, 510, 546, 578, 590, 615, 670} {
		s = s.Add(bands([][4]float64{{r.Float64(), nm, 8, 8}}))
	}
	return s
}

// madeUpCamera has three broad channels that leak into each other.
func madeUpCamera(t testing.TB, r *rand.Rand) *quality.Camera {
	peaks := [3]float64{598 + 8*r.NormFloat64(), 533 + 7*r.NormFloat64(), 457 + 6*r.NormFloat64()}
	var c [3]spectrum.Spectrum
	leak, cut := 0.06*r.Float64(), 650+30*r.Float64()
	for k, p := range peaks {
		w := [3]float64{75, 90, 60}[k] * math.Exp(0.1*r.NormFloat64())
		c[k] = spectrum.Visible5.On(func(nm float64) float64 {
			v := math.Exp(-4*math.Ln2*(nm-p)*(nm-p)/(w*w)) + leak*math.Exp(-math.Pow((nm-550)/110, 2))
			return v / (1 + math.Exp((nm-cut)/6)) / (1 + math.Exp((405-nm)/6))
		})
	}
	cam, err := quality.NewCamera(c)
	if err != nil {
		t.Fatal(err)
	}
	return cam
}

func mixing(t testing.TB, m madeUp, o ...quality.Observer) *quality.Mixing {
	x, err := quality.NewMixing(m.reference, m.emitters, o...)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func best(t testing.TB, m madeUp, x *quality.Mixing, floor float64, guard bool) AlikeMix {
	b, err := MostAlike(x, m.palette, m.target, floor, guard)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func quantile(v []float64, p float64) float64 {
	slices.Sort(v)
	return stat.Quantile(p, stat.Empirical, v, nil)
}

// A lamp with emitters to spare looks far more like the reference to the camera it is matched for
// than at its most light, never less; and to cameras it was never told of, when it is matched for a set
// of others with a guard. What the levels cost is the table of the note on likeness.
func TestTheMixMostAlikeIsMoreAlike(t *testing.T) {
	rigs := 60
	if os.Getenv("TRUEUP_LONG") != "" {
		rigs = 300
	}
	r := rand.New(rand.NewPCG(77, 5))
	var set []quality.Observer
	for range 4 {
		set = append(set, madeUpCamera(t, r).Observer("one of a set"))
	}
	set = append(set, quality.Eye(spectrum.Deg2), quality.Eye(spectrum.Deg10))
	known := map[[2]int][]float64{} // by class of emitters and floor in per cent
	var unseen []float64
	worse := 0
	for i := range rigs {
		n := 4 + i%5
		class := min(n, 6)
		m := madeUpLamp(r, n)
		cam := mixing(t, m, madeUpCamera(t, r).Observer("known"))
		bright, err := Brightest(cam, m.palette, m.target)
		if err != nil {
			t.Fatal(err)
		}
		for _, floor := range []int{90, 70, 50} {
			b := best(t, m, cam, float64(floor)/100, true)
			ratio := b.Mean() / bright.Mean()
			known[[2]int{class, floor}] = append(known[[2]int{class, floor}], ratio)
			if ratio > 1.01 && b.Mean()-bright.Mean() > 0.005 {
				t.Errorf("rig %d: %d emitters, floor %d %%: %.3f times the difference of the brightest mix", i, n, floor, ratio)
			}
			if b.Level < float64(floor)/100-1e-9 {
				t.Errorf("rig %d: level %v below the floor of %d %%", i, b.Level, floor)
			}
			if off := sum(b.Lights, m.palette.Full).UV().Dist(m.target); off > 1e-7 {
				t.Errorf("rig %d: the mix is %v off", i, off)
			}
		}
		if n < 6 {
			continue
		}
		mix := best(t, m, mixing(t, m, set...), 0.7, true)
		for range 8 {
			judge := mixing(t, m, madeUpCamera(t, r).Observer("unseen"))
			was, err := judge.Judge(bright.Lights)
			if err != nil {
				t.Fatal(err)
			}
			is, err := judge.Judge(mix.Lights)
			if err != nil {
				t.Fatal(err)
			}
			q := is[0].Mean / was[0].Mean
			unseen = append(unseen, q)
			if q > 1.05 {
				worse++
			}
		}
	}
	for _, c := range []struct {
		class, floor int
		want         float64
	}{{6, 70, 0.65}, {6, 50, 0.55}, {5, 70, 0.90}} {
		got := quantile(known[[2]int{c.class, c.floor}], 0.5)
		if got > c.want {
			t.Errorf("%d emitters or more, floor %d %%: median ratio %.3f, want at most %.2f", c.class, c.floor, got, c.want)
		}
	}
	for _, k := range slices.SortedFunc(maps.Keys(known), func(a, b [2]int) int { return cmp.Or(a[0]-b[0], b[1]-a[1]) }) {
		t.Logf("%d emitters%s, floor %d %%: median ratio %.2f", k[0], map[bool]string{true: " or more"}[k[0] == 6], k[1], quantile(known[k], 0.5))
	}
	share := float64(worse) / float64(len(unseen))
	t.Logf("unseen cameras, a set of six with guard, floor 70 %%: median ratio %.2f, worse by more than 5 %%: %.1f %%, p99 %.2f", quantile(unseen, 0.5), 100*share, quantile(unseen, 0.99))
	if quantile(unseen, 0.5) > 0.70 || share > 0.03 && rigs >= 300 {
		t.Errorf("unseen cameras: median %.2f, worse %.1f %%: want at most 0.70 and 3 %%", quantile(unseen, 0.5), 100*share)
	}
}

// The search ends at the least of the form: no exchange between any three emitters that keeps
// chromaticity and level lowers it, and no random mix that lands lies below.
func TestTheFormIsAtItsLeast(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 9))
	for i := range 40 {
		m := madeUpLamp(r, 4+i%5)
		x := mixing(t, m, madeUpCamera(t, r).Observer("camera"))
		a, err := newAlike(x, m.palette, m.target)
		if err == nil {
			err = a.begin(0.6, nil)
		}
		if err != nil {
			t.Fatal(err)
		}
		n := len(a.z)
		h := make([]float64, n*n)
		x.Form(h, nil)
		corner := slices.Clone(a.z)
		a.minimise(h)
		least := form(h, a.z)
		if least > form(h, corner)*(1+1e-12) {
			t.Errorf("rig %d: the form rose", i)
		}
		if a.steps > 60 {
			t.Errorf("rig %d: %d steps", i, a.steps)
		}
		// Corners of the box and planes, and chords between them, by random linear programs.
		for range 300 {
			z, ok := randomCorner(r, a)
			if !ok {
				continue
			}
			slope := 0.0 // of the form along the chord from the least to there
			for j := range n {
				g := 0.0
				for k := range n {
					g += 2 * h[j*n+k] * a.z[k]
				}
				slope += g * (z[j] - a.z[j])
			}
			if slope < -1e-6*least {
				t.Errorf("rig %d: from the least %v the form falls by %v towards a mix that lands", i, least, slope)
				break
			}
		}
	}
}

func form(h, z []float64) (sum float64) {
	n := len(z)
	for i := range n {
		for j := range n {
			sum += z[i] * h[i*n+j] * z[j]
		}
	}
	return sum
}

// randomCorner is a mix that lands: a corner of the same box and planes.
func randomCorner(r *rand.Rand, a *alike) ([]float64, bool) {
	lp := program{n: len(a.z), rows: 3}
	lp.b[2] = 1
	for j := range a.z {
		lp.c[j], lp.hi[j] = r.NormFloat64(), a.most[j]
		for k := range maxRows {
			lp.a[k][j] = a.equal[k][j]
		}
	}
	return lp.x[:len(a.z)], lp.solve()
}

func BenchmarkMostAlike(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	m := madeUpLamp(r, 8)
	x := mixing(b, m, madeUpCamera(b, r).Observer("a"), quality.Eye(spectrum.Deg2), quality.Eye(spectrum.Deg10))
	b.Run("prepare", func(b *testing.B) {
		for b.Loop() {
			mixing(b, m, quality.Eye(spectrum.Deg2))
		}
	})
	b.Run("solve", func(b *testing.B) {
		for b.Loop() {
			best(b, m, x, 0.7, true)
		}
	})
}
