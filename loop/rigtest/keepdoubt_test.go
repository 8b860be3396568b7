package rigtest

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

func (w *watchedLook) says(what string) bool {
	return slices.ContainsFunc(w.entries, func(e core.Entry) bool { return strings.Contains(e.Note, what) })
}

// A meter that is silent for longer than any run waits ends no kept look, and keeps no other probe from being trimmed;
// its own lamps are trimmed again when it reads again.
func TestASilentMeterEndsNoKeptLook(t *testing.T) {
	from, to := 10*time.Minute, 55*time.Minute
	r := warmingLamps.Rig(16, 0)
	w := keepFor(t, r, 80*time.Minute, func(w *world) {
		p := w.Probes["mark2"]
		w.At(from, func() { delete(w.Probes, "mark2") })
		w.At(to, func() { w.Probes["mark2"] = p })
	})
	if n := w.trimsBetween("lamp 2", from+10*time.Second, to); n > 0 {
		t.Errorf("lamp 2 was trimmed %d times with its meter silent", n)
	}
	if w.trimsBetween("lamp 1", from, to) == 0 || w.trimsBetween("lamp 2", to, 80*time.Minute) == 0 {
		t.Errorf("not trimmed: lamp 1 beside it %d times, lamp 2 after it %d times", w.trimsBetween("lamp 1", from, to), w.trimsBetween("lamp 2", to, 80*time.Minute))
	}
	if !w.says("PAUSED: ") || !w.says(`probe "mark2" reads again`) {
		t.Error("it was not said")
	}
	if o := w.outcome["lamp 2"]; o == nil || !o.Landed() {
		t.Errorf("at the end: %+v", o)
	}
	for name, e := range w.errors {
		if p := quantileOf(e, 0.95); p > 0.0012 && name != "lamp 2" {
			t.Errorf("%s: p95 %.5f", name, p)
		}
	}
	silent := keepFor(t, warmingLamps.Rig(16, 0), 30*time.Minute, func(w *world) { w.At(from, func() { delete(w.Probes, "mark2") }) })
	if o := silent.outcome["lamp 2"]; o == nil || o.Landed() {
		t.Errorf("of a lamp whose meter was silent at the end it is claimed: %+v", o)
	}
}

// A look that reads far from what the match left is not trimmed, also not after a hand before the meter.
func TestALookThatHasChangedIsNotTrimmed(t *testing.T) {
	w := keepFor(t, warmingLamps.Rig(17, 0), 40*time.Minute, func(w *world) {
		p := w.Probes["mark1"]
		usual := p.Light
		p.Light = func(d time.Duration) colorcalc.XYZ {
			light := usual(d)
			uv := light.UV()
			uv.U += 0.012 // a gel that was hung since
			if w.Now() > 10*time.Minute && w.Now() < 12*time.Minute {
				light.Y *= 0.3
			}
			return uv.XYZ(light.Y)
		}
	})
	if n := w.trimsBetween("lamp 1", 0, time.Hour); n > 0 || !w.says("something has changed since") {
		t.Errorf("trimmed %d times: %v", n, w.notes)
	}
}

// A probe that sees another colour after its level was in doubt is in doubt still.
func TestAnotherColourAfterADarkHourIsNotTrimmed(t *testing.T) {
	for seed := range uint64(8) {
		w := keepFor(t, warmingLamps.Rig(18+seed, 0), 60*time.Minute, func(w *world) {
			p := w.Probes["mark1"]
			usual := p.Light
			p.Light = func(d time.Duration) colorcalc.XYZ {
				light := usual(d)
				uv := light.UV()
				switch {
				case w.Now() > 30*time.Minute:
					uv.U += 0.008
				case w.Now() > 20*time.Minute:
					light.Y *= 0.3
				}
				return uv.XYZ(light.Y)
			}
		})
		if n := w.trimsBetween("lamp 1", 30*time.Minute, time.Hour); n > 0 {
			t.Errorf("rig %d: trimmed %d times: %v", seed, n, w.notes)
		}
	}
}

// Where no lamp may be put out, none is: the background is that of the match, and the lamps are not trimmed by it.
func TestALitLookIsKeptWithTheBackgroundOfItsMatch(t *testing.T) {
	c := warmingLamps
	c.Lamps, c.Probes, c.Background = 2, 2, 0.1
	r := c.Rig(19, 0)
	m := matchedOf(t, r)
	cfg := r.Config
	cfg.Work, cfg.Priors, cfg.Previous, cfg.Background = core.Keep, map[string]*solve.Prior{}, m.standing, map[string]colorcalc.XYZ{}
	cfg.Plan.Target = core.Target{Text: "as matched", UV: m.ref.UV}
	cfg.Plan.KeepLit = true
	for _, u := range cfg.Units {
		if mean, ok := m.core.BackgroundAt(u.Info.Probe); ok {
			cfg.Background[u.Info.Probe] = mean
		}
	}
	if len(cfg.Background) < 2 {
		t.Fatalf("the match read %d backgrounds", len(cfg.Background))
	}
	for _, s := range m.standing {
		cfg.Priors[s.Fixture] = m.core.PriorOf(s.Fixture)
	}
	k := newCore(t, cfg)
	w := r.world(k)
	var first []float64
	w.Heard = func(e core.Entry) {
		if e.Kind == core.KindLevel && strings.Contains(e.Note, "not trimmed any more") {
			t.Error(e.Note)
		}
		if e.Kind == core.KindFound {
			first = append(first, e.Reading.Delta)
		}
	}
	before := w.Wire
	w.Wire = wireWatch(func(head int, codes solve.Drive) {
		for _, u := range cfg.Units {
			if u.Head == head && slices.Equal(u.Darkened(codes), codes) {
				t.Errorf("%s was put out", u.Info.Name)
			}
		}
		before.Wish(head, codes)
	})
	w.At(20*time.Minute, func() { w.Tell(core.Event{Kind: core.Stop, Why: "enough"}) })
	if w.run(30 * time.Minute); !errors.Is(w.err, core.ErrStopped) {
		t.Fatal(w.err)
	}
	for _, d := range first {
		if d > 0.004 { // the lamps are cold; the background alone would be 0.01 and more
			t.Errorf("a first reading lies %.4f from the target", d)
		}
	}
	if len(first) != 2 {
		t.Errorf("%d lamps were read", len(first))
	}
}

type wireWatch func(head int, codes solve.Drive)

func (w wireWatch) Wish(head int, codes solve.Drive) { w(head, codes) }

// A driven reference belongs to the look: it is lit as it was, and not trimmed.
func TestTheReferenceIsLitAndNotTrimmed(t *testing.T) {
	lit := false
	w := keepFrom(t, warmingLamps.Rig(20, 0), 40*time.Minute, func(w *world) {
		before := w.Wire
		w.Wire = wireWatch(func(head int, codes solve.Drive) { lit = lit || head == 0; before.Wish(head, codes) })
	}, func(cfg *core.Config) {
		for i := range cfg.Previous {
			cfg.Previous[i].Reference = cfg.Previous[i].Fixture == "lamp 1"
		}
	})
	if n := w.trimsBetween("lamp 1", 0, time.Hour); n > 0 || !lit {
		t.Errorf("trimmed %d times, lit %v", n, lit)
	}
	if w.trimsBetween("lamp 2", 0, time.Hour) == 0 {
		t.Error("the others are not trimmed")
	}
}
