package rigtest

import (
	"math"
	"os"
	"runtime"
	"sync"
	"testing"

	"trueup/colorcalc"
	"trueup/loop/session/core"
	"trueup/loop/stage"
)

// What ambient light costs in time, beside a run of the same rig to which the background is known: its meter's noise is that of all light, but the
// background is off its readings already, but for the little stray light that every room has. Mean of rigs whose background
// is drawn evenly, by its logarithm, from a range of the lamps' own light. -v prints the table. Two runs of one rig differ by a third, for their readings scatter
// each in its own way: of twelve rigs the mean is known to a tenth, of sixty to four hundredths, of 240 to two. -rigs asks for more than the sixty of the
// long form, -first for others.
func TestTimeBesideAmbientLight(t *testing.T) {
	many, seed := 4, 40+*first
	if os.Getenv("TRUEUP_LONG") != "" {
		many = max(60, *rigs)
	}
	for _, light := range []struct {
		name string
		how  stage.AmbientSpec
		most [3]float64 // times the run to which it is known
	}{
		{"constant", stage.AmbientSpec{}, [3]float64{1.10, 1.2, 1.6}},
		{"walks", walk, [3]float64{1.10, 1.2, 2.2}},
	} {
		for k, from := range []float64{0.03, 0.1, 0.3} {
			var unknown, known float64
			var sum sync.Mutex
			var all sync.WaitGroup
			for part := range runtime.GOMAXPROCS(0) {
				all.Go(func() {
					for n := part; n < many; n += runtime.GOMAXPROCS(0) {
						share := from * math.Exp((float64(n)+0.5)/float64(many)*math.Log(10.0/3))
						c := Class{Name: "ambient", Background: share, Ambient: light.how}
						a, b := lasts(t, c.Rig(seed, n), false), lasts(t, c.Rig(seed, n), true)
						sum.Lock()
						unknown, known = unknown+a, known+b
						sum.Unlock()
					}
				})
			}
			all.Wait()
			t.Logf("%s light of %.2f to %.2f of the lamps': %.2f times the run to which it is known", light.name, from, from*10/3, unknown/known)
			if unknown > light.most[k]*known {
				t.Errorf("want at most %.2f", light.most[k])
			}
		}
	}
}

// lasts is how long a run of a rig takes, in virtual seconds.
func lasts(t *testing.T, r *Rig, known bool) float64 {
	k, err := core.New(r.Config)
	if err != nil {
		t.Error(err)
		return 0
	}
	w := r.world(k)
	for _, p := range r.probes {
		if !known || p.reference {
			continue
		}
		w.Probes[p.name].Spoil = func(got *core.Reading) {
			if got.TooDark {
				return
			}
			rest := got.XYZ().Sub(p.eyes(p.light.At(w.Now()))).Add(p.eyes(colorcalc.UV{U: 0.2, V: 0.47}.XYZ(stray)))
			got.UV, got.Y = rest.UV(), rest.Y
			got.TooDark = !(rest.Y > 0) || !rest.XY().Valid()
		}
	}
	w.run(longest * 10)
	return w.Now().Seconds()
}
