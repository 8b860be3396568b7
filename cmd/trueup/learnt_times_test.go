package main

import (
	"bytes"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"trueup/loop/rehearse"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// playedFrom plays a match of a rig in virtual time, from what its folder has kept.
func playedFrom(t *testing.T, dir, path string, watch time.Duration, now time.Time) (rehearse.Job, *rehearse.Played) {
	t.Helper()
	r, err := rig.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	j := rehearse.Job{Job: session.Job{Rig: r, Work: core.Match}, Seed: 1}
	if j.Plan, err = session.PlanFor(r); err != nil {
		t.Fatal(err)
	}
	if j.Compiled, err = session.Compile(r); err != nil {
		t.Fatal(err)
	}
	for _, u := range j.Compiled.Units {
		u.SettleKnown = false
	}
	j.Plan.Watch = watch
	j.Times = loadLearnt(dir, r.Name, j.Compiled.Units, now, zerolog.Nop()).times
	p, err := j.Play()
	if err != nil || p.Err != nil {
		t.Fatal(err, p.Err)
	}
	if _, err := core.Replay(p.Entries); err != nil {
		t.Errorf("played again: %v", err)
	}
	return j, p
}

// settleReadings are those that served a dead time alone.
func settleReadings(p *rehearse.Played) (n int) {
	for _, e := range p.Entries {
		if e.Kind == core.KindSettle && e.Reading != nil {
			n++
		}
	}
	return n
}

// What a run finds of what lamps do in time is there for the next run from the same folder, which measures no dead time and takes no more
// time, and says no more of types that were found steady that nobody watched them. Half a year later it is found anew.
func TestTheNextRunFromTheSameFolderKnowsWhatLampsDoInTime(t *testing.T) {
	dir, path := t.TempDir(), "../../examples/led-wall/rig.yaml"
	now := time.Date(2026, 11, 26, 18, 0, 0, 0, time.UTC)
	saysOf := func(p *rehearse.Played) string {
		s, err := session.Summarise(p.Entries)
		if err != nil {
			t.Fatal(err)
		}
		return s.Unwatched
	}
	j, first := playedFrom(t, dir, path, 0, now)
	if settleReadings(first) < 1 || len(first.Times.DeadTimes) == 0 {
		t.Fatalf("the first run measured %v in %d readings", first.Times.DeadTimes, settleReadings(first))
	}
	says := saysOf(first)
	if !strings.Contains(says, j.Compiled.Units[len(j.Compiled.Units)-1].Info.Profile) || !strings.Contains(says, "--watch 8s") {
		t.Errorf("at the end of a match that watched nothing: %q", says)
	}
	save := func(p *rehearse.Played) {
		t.Helper()
		if err := saveLearnt(dir, j.Rig.Name, &learnt{times: p.Times}, j.Compiled.Units, now, zerolog.Nop()); err != nil {
			t.Fatal(err)
		}
	}
	save(first)
	_, second := playedFrom(t, dir, path, core.UsualWatch, now.Add(24*time.Hour))
	if n, types := settleReadings(second), len(first.Times.DeadTimes); n > types || len(second.Times.DeadTimes) > 0 {
		t.Errorf("the second run measured %v, in %d readings for %d types", second.Times.DeadTimes, n, types)
	}
	if says := saysOf(second); says != "" {
		t.Errorf("at the end of a match that watched all types: %q", says)
	}
	save(second)
	_, third := playedFrom(t, dir, path, 0, now.Add(48*time.Hour))
	if third.Took > first.Took {
		t.Errorf("took %v at first, and %v with what was known", first.Took, third.Took)
	}
	if says := saysOf(third); says != "" || len(third.Times.Steadiness) > 0 {
		t.Errorf("at the end of a match of types that are known steady: %q, watched again: %v", says, third.Times.Steadiness)
	}
	_, later := playedFrom(t, dir, path, 0, now.Add(keptFor+72*time.Hour))
	if settleReadings(later) != settleReadings(first) || saysOf(later) == "" {
		t.Errorf("after half a year: %d readings, %q", settleReadings(later), saysOf(later))
	}
}

// A dead time holds for one type as one feed of one rig reads it; steadiness for the type. What is not in the files is not in the
// next run, and what is there stays whatever another run adds.
func TestTimesAreKeptForTheirTypeAndFeed(t *testing.T) {
	dir, now := t.TempDir(), time.Date(2026, 11, 26, 18, 0, 0, 0, time.UTC)
	unit := func(kind, feed string) *session.Unit {
		u := &session.Unit{Unit: core.Unit{Type: kind, Feed: feed}}
		u.Info.Profile, u.Info.Mode = "Farnwibble Wash 14", "RGBW"
		return u
	}
	a, b := unit("aa", "left"), unit("aa", "right")
	wait, moved := 820*time.Millisecond, core.Steadiness{Watched: 1, For: 8 * time.Second, Moved: 0.0031}
	save := func(rig string, u *session.Unit, found core.TypeTimes) {
		t.Helper()
		if err := saveLearnt(dir, rig, &learnt{times: found}, []*session.Unit{u}, now, zerolog.Nop()); err != nil {
			t.Fatal(err)
		}
	}
	save("hall", a, core.TypeTimes{DeadTimes: map[string]time.Duration{a.SettleKey(): wait}})
	save("hall", a, core.TypeTimes{Steadiness: map[string]core.Steadiness{"aa": moved}})
	save("hall", unit("bb", "left"), core.TypeTimes{}) // found nothing: no file
	known := func(rig string, at time.Time, units ...*session.Unit) core.TypeTimes {
		return loadLearnt(dir, rig, units, at, zerolog.Nop()).times
	}
	if k := known("hall", now, a, b, unit("bb", "left")); !maps.Equal(k.DeadTimes, map[string]time.Duration{a.SettleKey(): wait}) ||
		!maps.Equal(k.Steadiness, map[string]core.Steadiness{"aa": moved}) {
		t.Errorf("known: %+v", k)
	}
	if k := known("attic", now, a); len(k.DeadTimes) > 0 || len(k.Steadiness) != 1 {
		t.Errorf("in another rig: %+v", k)
	}
	if k := known("hall", now.Add(2*keptFor), a); len(k.DeadTimes) > 0 || len(k.Steadiness) != 1 {
		t.Errorf("a year later a dead time is forgotten, and a restless type is not: %+v", k)
	}
	save("hall", a, core.TypeTimes{DeadTimes: map[string]time.Duration{a.SettleKey(): 0}})
	if k := known("hall", now, a); len(k.DeadTimes) > 0 || len(k.Steadiness) != 1 {
		t.Errorf("after it did not hold: %+v", k)
	}
	if files, err := os.ReadDir(filepath.Join(dir, "learnt")); err != nil || len(files) != 1 {
		t.Errorf("%v, %v", files, err)
	}
}

// What a run has found is put together with what is known when it ends: one that began from nothing, or beside another, does not have
// a type forgotten as restless.
func TestARunThatKnewNothingForgetsNoRestlessType(t *testing.T) {
	dir, now := t.TempDir(), time.Date(2026, 11, 26, 18, 0, 0, 0, time.UTC)
	units := []*session.Unit{{Unit: core.Unit{Type: "aa", Feed: "left"}}, {Unit: core.Unit{Type: "aa", Feed: "right"}}}
	restless := core.Steadiness{Watched: 3, For: 8 * time.Second, Moved: 0.0031}
	for _, found := range []core.Steadiness{restless, {Watched: 2, For: 8 * time.Second}, {Watched: 5, For: 2 * time.Second}} {
		if err := saveLearnt(dir, "hall", &learnt{times: core.TypeTimes{Steadiness: map[string]core.Steadiness{"aa": found}}}, units, now, zerolog.Nop()); err != nil {
			t.Fatal(err)
		}
		if k := loadLearnt(dir, "hall", units, now, zerolog.Nop()).times.Steadiness["aa"]; k != restless {
			t.Errorf("after %+v: %+v", found, k)
		}
	}
}

// What is listed says of when it is, and whether a run still uses it.
func TestWhatIsTooOldIsListedAsNotUsed(t *testing.T) {
	l, err := parseLearnt([]byte(`{"dead_times":[{"rig":"hall","feed":"left","wait_s":0.0002,"measured":"2026-11-20"}],"steadiness":{"watched":3,"for_s":8,"seen_uv":0.0015,"found":"2026-11-20"}}`))
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 11, 26, 18, 0, 0, 0, time.UTC)
	if s := l.inTime(now); strings.Contains(s, "not used") || !strings.Contains(s, "after 0.2 ms") || strings.Count(s, "2026-11-20") != 2 {
		t.Errorf("six days later: %q", s)
	}
	if s := l.inTime(now.Add(keptFor)); strings.Count(s, "2026-11-20: too old, not used") != 2 {
		t.Errorf("half a year later: %q", s)
	}
	l.Steadiness.Moved = 0.003 // restless stays known
	if s := l.inTime(now.Add(keptFor)); strings.Count(s, "not used") != 1 {
		t.Errorf("half a year later, of a restless type: %q", s)
	}
}

// Lamps of a simulated stage say nothing of the rig's own.
func TestTimesOfASimulatedStageAreNotKept(t *testing.T) {
	found := core.TypeTimes{DeadTimes: map[string]time.Duration{"aa": time.Second}}
	if k := timesToKeep(&rig.Rig{Stage: "beam"}, found); len(k.DeadTimes)+len(k.Steadiness) > 0 {
		t.Errorf("kept of a stage: %+v", k)
	}
	if k := timesToKeep(&rig.Rig{}, found); len(k.DeadTimes) != 1 {
		t.Errorf("kept of the rig: %+v", k)
	}
}

// A file that no run writes is said and left alone.
func TestAFileOfTimesThatCanNotBeIsSaidAndLeftAlone(t *testing.T) {
	now := time.Date(2026, 11, 26, 18, 0, 0, 0, time.UTC)
	units := []*session.Unit{{Unit: core.Unit{Type: "aa", Feed: "left"}}}
	for _, text := range []string{
		``, `[]`, `{"dead_times":[{"rig":"hall","feed":"left","wait_s":0,"measured":"2026-11-20"}]}`,
		`{"dead_times":[{"rig":"hall","feed":"left","wait_s":1e300,"measured":"2026-11-20"}]}`,
		`{"dead_times":[{"rig":"hall","feed":"left","wait_s":-1,"measured":"2026-11-20"}]}`,
		`{"dead_times":[{"rig":"hall","feed":"left","wait_s":1,"measured":"yesterday"}]}`,
		`{"dead_times":[{"rig":"hall","feed":"left","wait_s":1,"measured":"2026-11-20","more":1}]}`,
		`{"dead_times":[` + strings.Repeat(`{"rig":"hall","feed":"left","wait_s":1,"measured":"2026-11-20"},`, 300) + `{}]}`,
		`{"steadiness":{"watched":0,"for_s":8,"found":"2026-11-20"}}`,
		`{"steadiness":{"watched":3,"for_s":1e9,"found":"2026-11-20"}}`,
		`{"dead_times":[{"rig":"hall\n  attic\tforged","feed":"left","wait_s":1,"measured":"2026-11-20"}]}`,
		`{"dead_times":[{"rig":"hall","feed":"\u001b[31mleft","wait_s":1,"measured":"2026-11-20"}]}`,
		`{"steadiness":{"watched":3,"for_s":121,"found":"2026-11-20"}}`, // no run watches for so long
		`{"steadiness":{"watched":3,"for_s":8,"moved_uv":-1,"found":"2026-11-20"}}`,
		`{"steadiness":{"watched":3,"for_s":8,"found":""}}`,
		`{"steadiness":{"watched":3,"for_s":8,"found":"2026-11-20"}} {}`,
		`{"steadyness":{}}`,
	} {
		dir := t.TempDir()
		path := learntFile(dir, "aa")
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		var said bytes.Buffer
		all := loadLearnt(dir, "hall", units, now, zerolog.New(&said))
		if len(all.times.DeadTimes)+len(all.times.Steadiness)+len(all.batches) > 0 || strings.Count(said.String(), "cannot be used") != 1 {
			t.Errorf("%.100s: used as %+v, said %q", text, all, said.String())
		}
		found := &learnt{times: core.TypeTimes{DeadTimes: map[string]time.Duration{units[0].SettleKey(): time.Second}}}
		if err := saveLearnt(dir, "hall", found, units, now, zerolog.New(&said)); err != nil || strings.Count(said.String(), "trueup learnt forget aa") != 2 {
			t.Errorf("%.100s: %v, said %q", text, err, said.String())
		}
		if left, err := os.ReadFile(path); err != nil || string(left) != text {
			t.Errorf("%.100s: not left alone", text)
		}
	}
}

// FuzzLearnt: whatever a file of learnt things holds, what is taken from it is within bounds, and a run can begin from it.
func FuzzLearnt(f *testing.F) {
	f.Add([]byte(`{"type":"Farnwibble Wash 14, RGBW","kind":0,"states":1,"units":2,"mu":[0],"p_mu":[1],"weight":[1]}`)) // of before there were times
	f.Add([]byte(`{"dead_times":[{"rig":"hall","feed":"left","wait_s":0.82,"measured":"2026-11-20"}]}`))
	f.Add([]byte(`{"steadiness":{"watched":3,"for_s":8,"moved_uv":0.002,"found":"2026-11-20"}}`))
	f.Add([]byte(`{"steadiness":{"watched":3,"for_s":-8,"moved_uv":1e308,"found":"0000-00-00"}}`))
	now := time.Date(2026, 11, 26, 18, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, text []byte) {
		l, err := parseLearnt(text)
		if err != nil {
			return
		}
		cfg := core.Config{Work: core.Match, Plan: core.DefaultPlan(), DeadTimes: map[string]time.Duration{}, Steadiness: map[string]core.Steadiness{}}
		cfg.Plan.Target.Text = "white"
		for i, d := range l.DeadTimes {
			if wait := l.deadTime(d.Rig, d.Feed, now); wait > 0 {
				cfg.DeadTimes[fmt.Sprint(i)] = wait
			}
		}
		if s, ok := l.steadiness(now); ok {
			cfg.Steadiness["x"] = s
		}
		if _, err := core.New(cfg); err != nil {
			t.Errorf("%q: %v", text, err)
		}
		l.inTime(now)
	})
}
