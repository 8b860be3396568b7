package plan

import (
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

func long() bool { return os.Getenv("TRUEUP_LONG") != "" }

// counted is how many made-up lamps a test plays.
func counted(short, all int) int {
	if long() {
		return all
	}
	return short
}

// nominally is a lamp as its data sheets have it: every band's peak off by some nanometres, every width by some part.
func nominally(r *rand.Rand, s spectrum.Spectrum, nm, width float64) spectrum.Spectrum {
	centre, all := 0.0, 0.0
	for i, v := range s.Values {
		centre, all = centre+v*s.NM(i), all+v
	}
	centre /= all
	shift, k := nm*r.NormFloat64(), math.Exp(width*r.NormFloat64())
	return spectrum.Visible5.On(func(w float64) float64 { return s.At(centre + (w-shift-centre)/k) })
}

// The lamp's learnt colours and bent nominal spectra are enough: to cameras that nobody described, the mix chosen by them for a
// set of observers is far more alike by the true spectra than the brightest, and seldom less. Unbent, most of that is lost, and with exact
// spectra it is a little more.
func TestBentNominalSpectraAreEnough(t *testing.T) {
	r := rand.New(rand.NewPCG(2026, 19))
	kinds := []string{"exact", "unbent", "bent"}
	lamps := map[string][][]float64{} // ratios of each lamp, by each camera
	for i := range counted(60, 240) {
		m := madeUpLamp(r, 5+i%4)
		nominal := make([]spectrum.Spectrum, len(m.emitters))
		for j, e := range m.emitters {
			nominal[j] = nominally(r, e.Spectrum, 5, 0.1)
		}
		var judges []*quality.Mixing
		for range 4 {
			judges = append(judges, mixing(t, m, madeUpCamera(t, r).Observer("unseen")))
		}
		for _, kind := range kinds {
			guess := m
			guess.emitters = slices.Clone(m.emitters)
			for j := range guess.emitters {
				switch kind {
				case "unbent":
					guess.emitters[j].Spectrum = nominal[j]
				case "bent":
					guess.emitters[j].Spectrum = Bent(nominal[j], m.palette.Full[j])
				}
			}
			x := mixing(t, guess, quality.ObserverSet()...)
			bright, err := Brightest(x, m.palette, m.target)
			if err != nil {
				t.Fatal(err)
			}
			mix := best(t, guess, x, 0.7, true)
			var ratios []float64
			for _, judge := range judges {
				was, err := judge.Judge(bright.Lights)
				if err != nil {
					t.Fatal(err)
				}
				is, err := judge.Judge(mix.Lights)
				if err != nil {
					t.Fatal(err)
				}
				ratios = append(ratios, is[0].Mean/was[0].Mean)
			}
			lamps[kind] = append(lamps[kind], ratios)
		}
	}
	for _, kind := range kinds {
		median, share := quantile(slices.Concat(lamps[kind]...), 0.5), worseBy(lamps[kind], 1.05)
		goal := map[string][2]float64{"exact": {0.70, 0.03}, "bent": {0.75, 0.10}, "unbent": {9, 1}}[kind]
		above := aboveBy(lamps[kind], goal[0])
		t.Logf("%-7s %d lamps: median ratio %.2f, goal %.2f (surely above it in %.0f %% of lamps), worse by more than 5 %% in %.1f %% of pairs (surely %.1f %%), goal %.0f %%", kind, len(lamps[kind]),
			median, goal[0], 100*above.surely, 100*share.mean, 100*share.surely, 100*goal[1])
		// Of few lamps the figures are not known so well: what fails is what is surely beyond the goal. All 240 have to meet it.
		if above.surely > 0.5 || share.surely > goal[1] || long() && (median > goal[0] || share.mean > goal[1]) {
			t.Errorf("%s: median %.2f, worse in %.1f %%", kind, median, 100*share.mean)
		}
	}
}

// part is a share of something, and what it is at the least with 95 % confidence.
type part struct{ mean, surely float64 }

// worseBy is the share of pairs above a ratio. Cameras judge a lamp alike, so it is the lamps that are independent.
func worseBy(lamps [][]float64, ratio float64) part {
	var shares []float64
	for _, ratios := range lamps {
		n := 0
		for _, q := range ratios {
			if q > ratio {
				n++
			}
		}
		shares = append(shares, float64(n)/float64(len(ratios)))
	}
	mean, sd := stat.MeanStdDev(shares, nil)
	return part{mean, max(mean-1.645*stat.StdErr(sd, float64(len(shares))), 0)}
}

// aboveBy is the share of lamps whose median lies above a ratio: more than half, where the median of all does.
func aboveBy(lamps [][]float64, ratio float64) part {
	n := 0.0
	for _, ratios := range lamps {
		if quantile(ratios, 0.5) > ratio {
			n++
		}
	}
	all := float64(len(lamps))
	return part{n / all, max(n/all-1.645*0.5/math.Sqrt(all), 0)}
}

// The mix found is within 2.5 % of the best of a grid of 2 % over all mixes that land, and of what a local search
// on the true mean finds from there.
func TestTheMixIsNearTheBestKnown(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	worstGrid, worstLocal := 0.0, 0.0
	for i := range counted(10, 30) {
		n := 4 + i%5
		m := madeUpLamp(r, n)
		x := mixing(t, m, madeUpCamera(t, r).Observer("camera"))
		b := best(t, m, x, 0.7, true)
		a, err := newAlike(x, m.palette, m.target)
		if err == nil {
			err = a.begin(0.7, nil)
		}
		if err != nil {
			t.Fatal(err)
		}
		mean := func(z []float64) float64 {
			d, err := x.Judge(z)
			if err != nil {
				return math.Inf(1)
			}
			return d[0].Mean
		}
		if n <= 5 || n == 6 && long() {
			low := math.Inf(1)
			onGrid(a, func(z []float64) { low = min(low, mean(z)) })
			worstGrid = max(worstGrid, b.Mean()/low)
			if b.Mean() > 1.025*low {
				t.Errorf("rig %d, %d emitters: mean %.4f, the grid has %.4f", i, n, b.Mean(), low)
			}
		}
		z := shapeOf(a, b.Lights)
		low := mean(z)
		for step := 0.05; step > 0.001; step /= 1.5 {
			for range 60 {
				if y, ok := exchanged(r, a, z, step); ok {
					if v := mean(y); v < low {
						low, z = v, y
					}
				}
			}
		}
		worstLocal = max(worstLocal, b.Mean()/low)
		if b.Mean() > 1.025*low {
			t.Errorf("rig %d, %d emitters: mean %.4f, a local search finds %.4f", i, n, b.Mean(), low)
		}
	}
	t.Logf("at the most %.2f %% above the grid, %.2f %% above the local search", 100*(worstGrid-1), 100*(worstLocal-1))
}

// shapeOf is a mix at the luminance that shapes have.
func shapeOf(a *alike, lights []float64) []float64 {
	y := 0.0
	for j, l := range lights {
		y += l * a.equal[2][j]
	}
	z := slices.Clone(lights)
	for j := range z {
		z[j] /= y
	}
	return z
}

// closed sets the emitters of which so that z lands; not ok if it is out of bounds.
func closed(a *alike, z []float64, which [3]int) bool {
	var m [9]float64
	b := [3]float64{0, 0, 1}
	for row := range 3 {
		for j, v := range z {
			if j != which[0] && j != which[1] && j != which[2] {
				b[row] -= a.equal[row][j] * v
			}
		}
		for k, j := range which {
			m[3*row+k] = a.equal[row][j]
		}
	}
	if !num.Solve3(&m, &b) {
		return false
	}
	for k, j := range which {
		if z[j] = b[k]; !(z[j] >= 0 && z[j] <= a.most[j]) {
			return false
		}
	}
	return true
}

// onGrid visits every mix that lands whose other emitters than the first three stand on a grid of 2 %.
func onGrid(a *alike, visit func(z []float64)) {
	z := make([]float64, len(a.z))
	var at func(j int)
	at = func(j int) {
		if j == len(z) {
			if y := slices.Clone(z); closed(a, y, [3]int{0, 1, 2}) {
				visit(y)
			}
			return
		}
		for k := range 51 {
			z[j] = a.most[j] * float64(k) / 50
			at(j + 1)
		}
	}
	at(3)
}

// exchanged is z with some emitters moved a little, and three that make up for it.
func exchanged(r *rand.Rand, a *alike, z []float64, step float64) ([]float64, bool) {
	y := slices.Clone(z)
	p := r.Perm(len(y))
	for _, j := range p[3:] {
		y[j] = min(max(y[j]+step*a.most[j]*r.NormFloat64(), 0), a.most[j])
	}
	return y, closed(a, y, [3]int{p[0], p[1], p[2]})
}

// By the same program the wish for rendering has a better Rf than the mix with most light, and than the one with most white light: the
// default wish is not the best rendering, and does not say so. For cameras the three without spectra are much alike, and the default stays
// with the one that was proven to land.
func TestWhatTheWishesGive(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 44))
	got := map[string][]float64{}
	var white, level []float64 // ratio of the mean difference to a camera to that of the most light
	for i := range counted(30, 200) {
		m := madeUpLamp(r, 4+i%5)
		ref, ok := RenderingReferenceOf(m.target)
		if !ok {
			continue
		}
		rf, err := quality.NewMixing(ref, m.emitters, quality.AdaptedEye())
		if err != nil {
			t.Fatal(err)
		}
		cam := mixing(t, m, madeUpCamera(t, r).Observer("camera"))
		bright, err := Brightest(rf, m.palette, m.target)
		if err != nil {
			t.Fatal(err)
		}
		add := func(name string, lights []float64) float64 {
			d, err := rf.Judge(lights)
			if err != nil {
				t.Fatal(err)
			}
			got[name] = append(got[name], quality.FidelityOf(d[0].Mean))
			c, err := cam.Judge(lights)
			if err != nil {
				t.Fatal(err)
			}
			return c[0].Mean
		}
		seen := add("most light", bright.Lights)
		add("rendering", best(t, m, rf, 0.5, true).Lights)
		add("likeness", best(t, m, cam, 0.5, true).Lights)
		if l, ok := byWish(m, MostWhite, 0.7); ok {
			white = append(white, add("most white", l)/seen)
		}
		if l, ok := byWish(m, HoldLevel, 0.7); ok {
			level = append(level, add("level", l)/seen)
		}
	}
	for _, name := range []string{"most light", "most white", "level", "likeness", "rendering"} {
		t.Logf("%-10s Rf %.1f in the median", name, quantile(got[name], 0.5))
	}
	t.Logf("difference to a camera beside most light: most white %.2f, level %.2f", quantile(white, 0.5), quantile(level, 0.5))
	if a, b, c := quantile(got["rendering"], 0.5), quantile(got["most light"], 0.5), quantile(got["most white"], 0.5); !(a > b+3 && a > c+3) {
		t.Errorf("Rf %.1f by the wish for it, %.1f with most light, %.1f with most white light", a, b, c)
	}
}

// byWish is the mix of a wish without spectra, at a part of the most light, as the planner's linear program has it.
func byWish(m madeUp, w Wish, part float64) ([]float64, bool) {
	lp := program{n: len(m.palette.Full), rows: 2}
	copy(lp.hi[:], m.palette.Most)
	for j, f := range m.palette.Full {
		d := f.X + 15*f.Y + 3*f.Z
		lp.a[0][j], lp.a[1][j], lp.a[2][j] = 4*f.X-m.target.U*d, 9*f.Y-m.target.V*d, f.Y
		lp.c[j] = f.Y
	}
	if !lp.solve() {
		return nil, false
	}
	lp.rows, lp.b[2] = 3, part*lp.obj
	for j, f := range m.palette.Full {
		lp.c[j] = -1
		if w == MostWhite {
			lp.c[j] = model.Emitter{UV: f.UV(), White: whiteLight(f)}.Preference()
		}
	}
	return lp.x[:lp.n], lp.solve()
}

func whiteLight(c colorcalc.XYZ) bool {
	_, duv, err := colorcalc.CCT(c.XY())
	return err == nil && math.Abs(float64(duv)) < 0.015
}
