package core

import (
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// What a run has found is put together with what was known: a shorter watch takes nothing away, a unit watched again is
// no second one, and a restless type is cleared only by as many, watched as long.
func TestWhatIsKnownAfterAnotherWatch(t *testing.T) {
	const s = time.Second
	for _, c := range []struct{ before, run, want Steadiness }{
		{Steadiness{}, Steadiness{Watched: 1, For: 8 * s}, Steadiness{Watched: 1, For: 8 * s}},
		{Steadiness{Watched: 3, For: 8 * s}, Steadiness{}, Steadiness{Watched: 3, For: 8 * s}},
		{Steadiness{Watched: 3, For: 8 * s}, Steadiness{Watched: 3, For: 5 * s}, Steadiness{Watched: 3, For: 8 * s}},
		{Steadiness{Watched: 3, For: 8 * s}, Steadiness{Watched: 1, For: 60 * s}, Steadiness{Watched: 3, For: 8 * s}},
		{Steadiness{Watched: 3, For: 8 * s}, Steadiness{Watched: 4, For: 20 * s}, Steadiness{Watched: 4, For: 20 * s}},
		{Steadiness{Watched: 1, For: 60 * s}, Steadiness{Watched: 3, For: 8 * s}, Steadiness{Watched: 3, For: 8 * s}},
		{Steadiness{Watched: 1, For: 8 * s}, Steadiness{Watched: 1, For: 8 * s}, Steadiness{Watched: 1, For: 8 * s}},
		{Steadiness{Watched: 3, For: 8 * s}, Steadiness{Watched: 1, For: 2 * s, Moved: 0.002}, Steadiness{Watched: 1, For: 2 * s, Moved: 0.002}},
		{Steadiness{Watched: 3, For: 8 * s, Moved: 0.003}, Steadiness{Watched: 1, For: 2 * s, Moved: 0.002}, Steadiness{Watched: 1, For: 8 * s, Moved: 0.002}},
		{Steadiness{Watched: 1, For: 8 * s, Moved: 0.003}, Steadiness{Watched: 9, For: 7 * s}, Steadiness{Watched: 1, For: 8 * s, Moved: 0.003}},
		{Steadiness{Watched: 1, For: 8 * s, Moved: 0.003}, Steadiness{Watched: 2, For: 9 * s}, Steadiness{Watched: 1, For: 8 * s, Moved: 0.003}},
		{Steadiness{Watched: 1, For: 8 * s, Moved: 0.003}, Steadiness{Watched: 3, For: 8 * s}, Steadiness{Watched: 3, For: 8 * s}},
		// Judged more coarsely, or with a figure that is not known, is not as well.
		{Steadiness{Watched: 3, For: 8 * s, Seen: 0.0015}, Steadiness{Watched: 9, For: 20 * s, Seen: 0.009}, Steadiness{Watched: 3, For: 8 * s, Seen: 0.0015}},
		{Steadiness{Watched: 9, For: 20 * s, Seen: 0.009}, Steadiness{Watched: 3, For: 8 * s, Seen: 0.0015}, Steadiness{Watched: 3, For: 8 * s, Seen: 0.0015}},
		{Steadiness{Watched: 9, For: 20 * s}, Steadiness{Watched: 3, For: 8 * s, Seen: 0.0015}, Steadiness{Watched: 3, For: 8 * s, Seen: 0.0015}},
		{Steadiness{Watched: 3, For: 8 * s, Moved: 0.003, Seen: 0.0015}, Steadiness{Watched: 3, For: 8 * s, Seen: 0.009}, Steadiness{Watched: 3, For: 8 * s, Moved: 0.003, Seen: 0.0015}},
		{Steadiness{Watched: 3, For: 8 * s, Moved: 0.001, Seen: 0.0015}, Steadiness{Watched: 3, For: 8 * s, Seen: 0.0015}, Steadiness{Watched: 3, For: 8 * s, Seen: 0.0015}},
	} {
		if got := c.before.After(c.run); got != c.want {
			t.Errorf("%+v, then %+v: %+v, want %+v", c.before, c.run, got, c.want)
		}
	}
}

// watchedBy is a match of units of two modes of one profile, at a tolerance, of which each has been watched and has moved by some u'v', read with a noise of
// 0.0001.
func watchedBy(t *testing.T, tolerance, moved float64, known Steadiness) *Core {
	t.Helper()
	cfg := Config{Work: Match, Plan: DefaultPlan(), Steadiness: map[string]Steadiness{}}
	cfg.Plan.Target.Text, cfg.Plan.Watch, cfg.Plan.Tolerance = "white", UsualWatch, tolerance
	if known.Watched > 0 {
		cfg.Steadiness["aa"] = known
	}
	for i, name := range []string{"a", "b", "c"} {
		cfg.Units = append(cfg.Units, Unit{Head: i, Info: FixtureInfo{Name: name, Probe: "p", Profile: "Farnwibble Wash 14", Mode: "RGBW"}, Type: "aa"})
	}
	cfg.Units = append(cfg.Units, Unit{Head: 3, Info: FixtureInfo{Name: "d", Probe: "p", Profile: "Farnwibble Wash 14", Mode: "Basic"}, Type: "bb"})
	c, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	for _, u := range c.units {
		u.outcome = &Outcome{Result: solve.Landed}
	}
	if moved < 0 {
		return c
	}
	for _, u := range c.units[:3] {
		w := &watch{station: station{u: u}}
		for i := range 3 {
			at := time.Duration(i) * time.Second / 2
			w.early = append(w.early, glance{at, solve.Reading{UV: colorcalc.UV{U: 0.2, V: 0.47}, Y: 50, SigmaUV: 0.0001}})
			w.late = append(w.late, glance{UsualWatch + at, solve.Reading{UV: colorcalc.UV{U: 0.2 + moved, V: 0.47}, Y: 50, SigmaUV: 0.0001}})
		}
		c.told(w)
	}
	return c
}

// A type is steady for no finer tolerance than it was watched at, and not where units moved and were only not named.
func TestATypeIsSteadyForWhatItsWatchCouldSee(t *testing.T) {
	for _, c := range []struct {
		tolerance, moved, at float64
		steady               bool
	}{{0.006, 0, 0.006, true}, {0.006, 0, 0.001, false}, {0.001, 0, 0.001, true}, {0.001, 0, 0.006, true}, {0.001, 0.0007, 0.001, false}, {0.006, 0.004, 0.006, false}} {
		s := watchedBy(t, c.tolerance, c.moved, Steadiness{}).TypeTimes().Steadiness["aa"]
		if s.Watched != 3 || s.Steady(c.at) != c.steady {
			t.Errorf("watched at %g, moved by %g: %+v, steady at %g: %v", c.tolerance, c.moved, s, c.at, s.Steady(c.at))
		}
	}
}

// The end of a match says what is known of types that were watched in earlier runs, and names modes where it has several.
func TestWhatIsNotWatchedSaysWhatIsKnown(t *testing.T) {
	for _, c := range []struct {
		known Steadiness
		says  string
	}{
		{Steadiness{}, "Farnwibble Wash 14 (RGBW), Farnwibble Wash 14 (Basic);"},
		{Steadiness{Watched: 2, For: 8 * time.Second, Seen: 0.0015}, "Farnwibble Wash 14 (RGBW) (2 watched for 8 s in an earlier run: too few"},
		{Steadiness{Watched: 5, For: 3 * time.Second, Seen: 0.0015}, "(5 watched for 3 s in an earlier run: too short"},
		{Steadiness{Watched: 5, For: 9 * time.Second, Seen: 0.009}, "(5 watched for 9 s in an earlier run: too coarsely for a tolerance of 0.0010"},
		{Steadiness{Watched: 5, For: 9 * time.Second, Seen: 0.0015}, "not watched: Farnwibble Wash 14 (Basic);"},
	} {
		if says := watchedBy(t, 0.001, -1, c.known).notWatched(); !strings.Contains(says, c.says) {
			t.Errorf("%+v: %q", c.known, says)
		}
	}
}

// So does what it says of types that are known to be restless and were not watched.
func TestRestlessTypesAreNamedWithTheirModes(t *testing.T) {
	if says := watchedBy(t, 0.001, -1, Steadiness{Watched: 3, For: 8 * time.Second, Moved: 0.003}).knownRestless(); !strings.Contains(says, "Farnwibble Wash 14 (RGBW);") {
		t.Errorf("%q", says)
	}
}
