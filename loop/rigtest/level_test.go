package rigtest

import (
	"math"
	"slices"
	"strings"
	"testing"

	"trueup/loop/session/core"
)

// One level for all is one level, by the light that the lamps truly give: where lamps limit themselves before their cap too, of which no profile
// tells, and where an emitter has come to the end of its range. A lamp that gives less is named.
func TestOneLevelForAllIsOne(t *testing.T) {
	const (
		alike  = 0.07 // ln: of two readings of a level, each within 2 %, and what the lamp's own light does between them
		mostly = 0.03
	)
	landed, near := 0, 0
	for _, name := range []string{"still, dark room", "8 bit", "limiter"} {
		for _, common := range []core.CommonLevel{core.CommonEqual, core.CommonBrightest} {
			for n := range 5 {
				c := *class(t, name)
				c.Common = common
				run, said, middle := playLevels(t, c.Rig(5, n), func(core.Entry) {})
				for _, l := range run.Lamps {
					if !l.Outcome.Landed() {
						continue
					}
					landed++
					off := math.Abs(math.Log(l.Lux / middle))
					if off < mostly {
						near++
					}
					if off > alike && !strings.Contains(said, l.Name+" ") {
						t.Errorf("%s, %s, rig %d: %s gives %.1f lux, half of the others more than %.1f, and nobody says so:\n%s", name, common, n, l.Name, l.Lux, middle, said)
					}
				}
			}
		}
	}
	if landed < 300 || near*100 < landed*97 {
		t.Errorf("of %d that landed %d give the common level within %g", landed, near, mostly)
	}
}

// playLevels plays a rig and gives the run, what it says of levels, a line each, and the median level of the lamps that landed, lux.
func playLevels(t *testing.T, r *Rig, heard func(core.Entry)) (run Run, said string, middle float64) {
	t.Helper()
	j, w := r.judge(), r.world(newCore(t, r.Config))
	w.Heard = func(e core.Entry) {
		j.hear(e, w)
		if e.Kind == core.KindLevel {
			said += e.Note + "\n"
		}
		heard(e)
	}
	w.run(longest * 12)
	run = j.sum(w)
	var lux []float64
	for _, l := range run.Lamps {
		if l.Outcome.Landed() {
			lux = append(lux, l.Lux)
		}
	}
	if slices.Sort(lux); len(lux) > 0 {
		middle = lux[len(lux)/2]
	}
	return run, said, middle
}
