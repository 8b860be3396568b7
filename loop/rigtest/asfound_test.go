package rigtest

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// How a lamp stood that was not read as found is where it is said to have been, as often as is said. A lamp that was
// read has no such figure, nor one that does not land.
func TestComputedAsFound(t *testing.T) {
	var off, scaled []float64
	unread := 0
	for _, c := range []Class{{Name: "still", Alike: 12}, {Name: "8 bit", Alike: 12, Bits: 8}, {Name: "two kinds", Alike: 12, Lamps: 24}} {
		for n := range 4 {
			r := c.Rig(31, n)
			k := newCore(t, r.Config)
			w := r.world(k)
			read, told := map[string]bool{}, map[string]bool{}
			w.Heard = func(e core.Entry) {
				read[e.Fixture] = read[e.Fixture] || e.Kind == core.KindFound
				o := e.Outcome
				if o == nil || e.Fixture == "" {
					return
				}
				switch claims := o.Result == solve.Landed || o.Result == solve.Predicted; {
				case read[e.Fixture] && (o.Found == nil || o.Found.Computed), o.Found != nil && !read[e.Fixture] && !(o.Found.Computed && claims):
					t.Errorf("%s, rig %d, %s, %s: as found %+v; read so: %v", c.Name, n, e.Fixture, o.Result, o.Found, read[e.Fixture])
				case o.Found == nil || !o.Found.Computed || told[e.Fixture]:
					return
				}
				told[e.Fixture] = true
				l := w.lamps[slices.IndexFunc(w.lamps, func(l *lamp) bool { return l.plan.name == e.Fixture })]
				light := l.plan.change.At(w.at(l).Would(o.Before.Codes).Scale(l.plan.gain), w.Now())
				d := r.probe(l.plan.probe).eyes(light).UV().Dist(o.Found.UV)
				off, scaled = append(off, d), append(scaled, d/o.Found.SD)
			}
			w.run(longest * time.Duration(len(r.lamps)))
			if w.err != nil {
				t.Fatal(w.err)
			}
			for _, l := range r.lamps {
				if l.drawn != nil && !read[l.name] {
					unread++
				}
			}
		}
	}
	slices.Sort(off)
	slices.Sort(scaled)
	within := func(p float64) float64 { // two normal axes (Rayleigh)
		n, _ := slices.BinarySearch(scaled, math.Sqrt(-2*math.Log(1-p)))
		return float64(n) / float64(len(scaled))
	}
	if len(off) < 100 || 10*len(off) < 9*unread {
		t.Fatalf("%d not read as found, %d of them computed", unread, len(off))
	}
	t.Logf("%d not read as found, %d of them computed: median %.4f off, worst %.4f; within the claimed 50, 90, 95 %%: %.0f, %.0f, %.0f %%", unread, len(off),
		quantileOf(off, 0.5), off[len(off)-1], 100*within(0.5), 100*within(0.9), 100*within(0.95))
	if within(0.95) < 0.88 || within(0.5) > 0.85 {
		t.Errorf("of those computed %.0f %% are where they were said to be with 95 %%, %.0f %% with 50 %%", 100*within(0.95), 100*within(0.5))
	}
}

// Every lamp is read as found where a person asks for it, or is aloft.
func TestReadAsFoundWhereAsked(t *testing.T) {
	for _, c := range []Class{{Name: "asked for", Alike: 12}, {Name: "people aloft", Alike: 12, Probes: 12, Aloft: true}} {
		r := c.Rig(32, 0)
		r.Config.Plan.AsFound = !c.Aloft
		k := newCore(t, r.Config)
		w := r.world(k)
		read := map[string]bool{}
		w.Heard = func(e core.Entry) { read[e.Fixture] = read[e.Fixture] || e.Kind == core.KindFound }
		w.run(longest * time.Duration(len(r.lamps)))
		for _, l := range r.lamps {
			if l.drawn != nil && !read[l.name] {
				t.Errorf("%s: %s was not read as found", c.Name, l.name)
			}
		}
	}
}

// A lamp that was found to change its colour by itself has no computed figure of how it stood: which of its two colours that was, nobody knows.
func TestALampThatChangesByItselfHasNoComputedFigure(t *testing.T) {
	changed := 0
	for k := range 4 {
		c := Class{Name: "watched", Alike: 12, Watch: watched, Cause: "sets itself", Lamp: calibrates}
		r := c.Rig(77, k)
		run := newCore(t, r.Config)
		w := r.world(run)
		w.Heard = func(e core.Entry) {
			if o := e.Outcome; o != nil && strings.Contains(o.Reason, "changes its colour by itself") {
				changed++
				if o.Found != nil && o.Found.Computed {
					t.Errorf("%s: as found %.4f off is computed, and %s", e.Fixture, o.Found.Delta, o.Reason)
				}
			}
		}
		w.run(longest * time.Duration(len(r.lamps)))
	}
	if changed == 0 {
		t.Error("no lamp was found to change: this shows nothing")
	}
}
