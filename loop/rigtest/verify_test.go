package rigtest

import (
	"math/rand/v2"
	"os"
	"testing"

	"trueup/loop/session/core"
	"trueup/loop/stage"
)

// verdicts counts what a verification said of lamps that truly stand, and of lamps that were moved.
type verdicts struct {
	// Of lamps that are within the tolerance: all, said to have drifted, to stand at the edge, to be at the edge or held.
	stood, alarms, edge, unsure int
	moved, missed               int // of lamps that were moved: all, said to stand
	readings                    int
}

// verifyMoved matches rigs, moves every other lamp, and reads all again.
func verifyMoved(t *testing.T, c *Class, seed uint64, rigs int, by float64) (v verdicts) {
	t.Helper()
	for n := range rigs {
		r := c.Rig(seed, n)
		d := &draws{rand.New(rand.NewPCG(seed, uint64(n)))}
		m := matchedOf(t, r)
		moved := map[string]bool{}
		for i, l := range r.lamps {
			if i%2 == n%2 && m.outcomes[l.name].Landed() {
				l.change = stage.Change{Gel: 1, GelMoved: d.towards(by), GelFactor: 1}
				moved[l.name] = true
			}
		}
		cfg := r.Config
		cfg.Work, cfg.Previous = core.Verify, m.standing
		k := newCore(t, cfg)
		w := r.world(k)
		w.Heard = func(e core.Entry) {
			if e.Kind != core.KindVerify || e.Outcome == nil || !m.outcomes[e.Fixture].Landed() {
				return
			}
			for _, l := range w.lamps {
				if l.plan.name != e.Fixture {
					continue
				}
				eyes := r.probe(l.plan.probe)
				at := eyes.eyes(l.plan.change.At(w.at(l).Settled().Scale(l.plan.gain), w.Now())).UV()
				off := at.Dist(eyes.eyes(r.reference(w.Now())).UV())
				v.readings += e.Outcome.Readings
				switch {
				case moved[e.Fixture]:
					if off < 1.5*cfg.Plan.Tolerance {
						return // it stood elsewhere than was claimed, and was moved to where it belongs
					}
					v.moved++
					if e.Outcome.Landed() {
						v.missed++
						t.Logf("rig %d, %s: moved, truly %.5f off: %s", n, e.Fixture, off, e.Outcome.Reason)
					}
				case off <= cfg.Plan.Tolerance:
					v.stood++
					switch {
					case e.Outcome.Verdict == core.Drifted:
						v.alarms++
						t.Logf("rig %d, %s: stands, truly %.5f off: %s", n, e.Fixture, off, e.Outcome.Reason)
					case e.Outcome.Stays():
						v.edge++
					case !e.Outcome.Landed():
						v.unsure++
					}
				}
			}
		}
		if w.run(longest); w.err != nil {
			t.Fatal(w.err)
		}
	}
	return v
}

// A lamp that was moved by 0.003 is named in more than 99 of 100, and of lamps that stand within the
// tolerance fewer than 1 in 100 are said to have drifted.
func TestVerifyCatchesWhatMoved(t *testing.T) {
	rigs := 12
	if os.Getenv("TRUEUP_LONG") != "" {
		rigs = 80
	}
	for _, c := range []Class{{Name: "still"}, {Name: "8 bit", Bits: 8}, {Name: "background of a third", Background: 0.3}} {
		v := verifyMoved(t, &c, 21, rigs, 0.003)
		t.Logf("%-22s moved by 0.003: %4d, missed %d (%.2f %%); standing: %4d, false alarms %d (%.2f %%), said to stand at the edge %d (%.2f %%), no verdict %d (%.2f %%); %.1f readings a lamp", c.Name,
			v.moved, v.missed, percentOf(v.missed, v.moved), v.stood, v.alarms, percentOf(v.alarms, v.stood), v.edge, percentOf(v.edge, v.stood), v.unsure, percentOf(v.unsure, v.stood), float64(v.readings)/float64(v.moved+v.stood))
		if v.moved < rigs || v.stood < rigs {
			t.Errorf("%s: %d moved and %d standing lamps are too few", c.Name, v.moved, v.stood)
		}
		// One false alarm alone is what chance brings among the few lamps of the short form.
		if percentOf(v.missed, v.moved) >= 1 || v.alarms > 1 && percentOf(v.alarms, v.stood) >= 1 {
			t.Errorf("%s: %d of %d missed, %d of %d falsely alarmed", c.Name, v.missed, v.moved, v.alarms, v.stood)
		}
	}
}

// percentOf is a part in percent.
func percentOf(n, of int) float64 { return 100 * float64(n) / float64(max(of, 1)) }
