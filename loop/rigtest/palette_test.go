package rigtest

import (
	"fmt"
	"os"
	"slices"
	"testing"

	"trueup/colorcalc"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// paletteOf matches a rig, predicts every lamp's setting for some colours, and reads all of them. lights is what each lamp
// truly gave at each outcome.
func paletteOf(t *testing.T, r *Rig, colours []colorcalc.UV) (cfg core.Config, entries []core.Entry, lights []colorcalc.UV) {
	t.Helper()
	m := matchedOf(t, r)
	cfg = r.Config
	cfg.Work, cfg.Priors, cfg.Wished = core.Palette, map[string]*solve.Prior{}, nil
	cfg.Plan.Target, cfg.Plan.SecondVisit = core.Target{Text: "colour 0", UV: colours[0]}, false
	for _, s := range m.standing {
		cfg.Priors[s.Fixture] = m.core.PriorOf(s.Fixture)
		for i, uv := range colours {
			if p, err := m.core.Predict(s.Fixture, uv); err == nil && p.Off <= cfg.Plan.Tolerance {
				cfg.Wished = append(cfg.Wished, core.Wished{Fixture: s.Fixture, Text: fmt.Sprintf("colour %d", i), UV: uv, Codes: p.Codes})
			}
		}
	}
	k := newCore(t, cfg)
	w := r.world(k)
	w.Heard = func(e core.Entry) {
		entries = append(entries, e)
		if e.Kind == core.KindOutcome {
			l := w.lamps[slices.IndexFunc(w.lamps, func(l *lamp) bool { return l.plan.name == e.Fixture })]
			lights = append(lights, w.at(l).Would(l.sent).UV())
		}
	}
	if w.run(longest * 10); w.err != nil {
		t.Fatal(w.err)
	}
	return cfg, entries, lights
}

// Predicted settings of other colours are read and corrected: every one has an outcome, those that are said to have
// landed lie within the tolerance in truth, and the run can be played again as any other.
func TestPredictedSettingsAreReadAndCorrected(t *testing.T) {
	rigs := 2
	if os.Getenv("TRUEUP_LONG") != "" {
		rigs = 30
	}
	var colours []colorcalc.UV
	for _, k := range []colorcalc.Kelvin{3000, 4000, 6000} {
		xy, err := colorcalc.White(k, 0)
		if err != nil {
			t.Fatal(err)
		}
		colours = append(colours, xy.UV())
	}
	var before, after []float64
	landed, wrong, asked := 0, 0, 0
	for n := range rigs {
		c := Class{Name: "palette", Lamps: 4}
		r := c.Rig(21, n)
		cfg, entries, lights := paletteOf(t, r, colours)
		asked += len(cfg.Wished)
		at, outcomes := colorcalc.UV{}, 0
		for _, e := range entries {
			if e.Reference != nil {
				at = e.Reference.UV
			}
			if e.Kind != core.KindOutcome {
				continue
			}
			outcomes++
			if !e.Outcome.Landed() {
				t.Logf("rig %d, %s: %s: %s", n, e.Fixture, e.Outcome.Result, e.Outcome.Reason)
				continue
			}
			off := lights[outcomes-1].Dist(at)
			before, after = append(before, e.Outcome.Found.Delta), append(after, off)
			if landed++; off > cfg.Plan.Tolerance {
				wrong++
				t.Logf("rig %d, %s at %v: claimed %.4f ± %.4f by %d readings (%.3f), truly %.4f", n, e.Fixture, at, e.Outcome.Final.Delta, e.Outcome.Final.SD, e.Outcome.Readings, e.Outcome.Probability, off)
			}
		}
		if outcomes != len(cfg.Wished) {
			t.Errorf("rig %d: %d outcomes of %d settings", n, outcomes, len(cfg.Wished))
		}
		k := newCore(t, cfg)
		i := 0
		for _, e := range entries {
			if e.Event == nil {
				continue
			}
			for _, got := range k.Step(*e.Event).Entries {
				if was := entries[i]; got.Kind != was.Kind || got.Note != was.Note || got.Step != nil && !slices.Equal(got.Step.Codes, was.Step.Codes) {
					t.Fatalf("rig %d, entry %d: %+v, was %+v", n, i, got, was)
				}
				i++
			}
		}
	}
	t.Logf("%d settings, %d landed, %d of them wrongly; read as predicted: median %.4f off, p95 %.4f; corrected: %.4f, %.4f in truth", asked, landed, wrong,
		quantileOf(before, 0.5), quantileOf(before, 0.95), quantileOf(after, 0.5), quantileOf(after, 0.95))
	if 10*landed < 9*asked || 20*wrong > landed {
		t.Errorf("%d of %d settings landed, %d of them are not within the tolerance", landed, asked, wrong)
	}
}
