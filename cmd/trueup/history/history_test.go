package history

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trueup/loop/session"
	"trueup/loop/solve"
)

// folder lays journals of every kind and version down as runs.
func folder(t *testing.T) string {
	t.Helper()
	root := t.TempDir()
	found, err := filepath.Glob("../../../testdata/journals/v*/*.jsonl")
	if err != nil || len(found) < 10 {
		t.Fatalf("%d journals: %v", len(found), err)
	}
	for _, path := range found {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		name := filepath.Base(filepath.Dir(path)) + "-" + strings.TrimSuffix(filepath.Base(path), ".jsonl")
		if err := os.Mkdir(filepath.Join(root, name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(root, name, session.JournalName), text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return root
}

func of(t *testing.T, root, name string, anew bool) []Lamp {
	t.Helper()
	x, err := Open(context.Background(), root, anew)
	if err != nil {
		t.Fatal(err)
	}
	defer x.Close()
	all, err := x.Of(context.Background(), name)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// How a lamp was found is what the run said then, not worked out anew against the reference as it was read last.
func TestAsFoundIsWhatTheRunSaid(t *testing.T) {
	root := folder(t)
	said := 0
	for _, l := range of(t, root, "small", false) {
		f := runOf(t, filepath.Join(root, filepath.Base(l.Dir)), l.Fixture)
		want := f.Found
		if want == nil || l.Found == nil {
			continue
		}
		said++
		if *l.Found != want.Delta {
			t.Errorf("%s, %s: %v as found, the run said %v", l.Dir, l.Fixture, *l.Found, want.Delta)
		}
		if o := f.Final(); o != nil && o.Found != nil && o.Found.Delta != want.Delta { // as the report tells it
			t.Errorf("%s, %s: the outcome says %v as found, the reading %v", l.Dir, l.Fixture, o.Found.Delta, want.Delta)
		}
	}
	if said < 5 {
		t.Fatalf("only %d lamps were found as something", said)
	}
}

func runOf(t *testing.T, dir, fixture string) *session.FixtureSummary {
	t.Helper()
	f, err := os.Open(filepath.Join(dir, session.JournalName))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s, err := session.ReadSummary(f)
	if err != nil {
		t.Fatal(err)
	}
	for i := range s.Fixtures {
		if s.Fixtures[i].Name == fixture {
			return &s.Fixtures[i]
		}
	}
	t.Fatalf("%s: no %s", dir, fixture)
	return nil
}

// The index says what the journals say, whether it is made anew, brought up to date, broken or deleted; a run that
// is gone is forgotten.
func TestTheIndexFollowsTheJournals(t *testing.T) {
	root := folder(t)
	first := of(t, root, "small", false)
	landed := 0
	for _, l := range first {
		if l.Work == "match" && l.Result == "landed" && l.Now != nil && *l.Now < 0.001 {
			landed++
		}
	}
	if landed < 2 {
		t.Fatalf("%d lamps of %d landed in matches of the rig", landed, len(first))
	}
	if err := os.WriteFile(filepath.Join(root, FileName), []byte("this is no database at all, but long enough to be taken for one"), 0o644); err != nil {
		t.Fatal(err)
	}
	for name, anew := range map[string]bool{"broken": false, "as it is": false, "anew": true} {
		if got := of(t, root, "SMALL", anew); len(got) != len(first) {
			t.Errorf("%s: %d lamps, want %d", name, len(got), len(first))
		}
	}
	if err := os.RemoveAll(filepath.Join(root, "v2-match")); err != nil {
		t.Fatal(err)
	}
	if got := of(t, root, "small", false); len(got) >= len(first) {
		t.Errorf("a run is gone, and %d lamps are left of %d", len(got), len(first))
	}
	if got := of(t, root, "no such rig", false); len(got) > 0 {
		t.Errorf("%d lamps of a rig that there is not", len(got))
	}
	if _, err := Open(context.Background(), filepath.Join(root, "nowhere"), false); err == nil {
		t.Error("a folder that there is not was opened")
	}
}

// An emitter that has lost light is told from one that has not; the lamp is known by its serial in another rig.
func TestAnAgeingEmitterIsNamed(t *testing.T) {
	at := func(rig, fixture string, month time.Month, green, greenSD float64) Lamp {
		mean := math.Log(green) / 3
		var es []solve.EmitterNow
		for i, n := range []string{"red", "green", "blue"} {
			y := 0.0
			if i == 1 {
				y = math.Log(green)
			}
			es = append(es, solve.EmitterNow{Name: n, U: 0.2, V: 0.5, SDUV: 0.001, LnFlux: y, LnShare: y - mean, ShareSD: greenSD})
		}
		return Lamp{Rig: rig, Fixture: fixture, Unit: "A17", Profile: "wash", Started: time.Date(2026, month, 1, 0, 0, 0, 0, time.UTC), Emitters: es}
	}
	all := []Lamp{at("stage", "wash 3", time.March, 1, 0.004), at("cyc", "left", time.June, 0.97, 0.004), at("stage", "wash 1", time.November, 0.91, 0.004)}
	trends := Trends(all)
	if len(trends) != 3 || trends[1].Runs != 3 || trends[1].Lamp != "A17" {
		t.Fatalf("%+v", trends)
	}
	// 0.91 of green beside the geometric mean of all three: 0.91 / 0.91^(1/3) - 1.
	if want := math.Pow(0.91, 2.0/3) - 1; math.Abs(trends[1].Share-want) > 1e-12 || !trends[1].Clear() {
		t.Errorf("green: %+v, want %.4f", trends[1], want)
	}
	doubtful := Trends([]Lamp{at("stage", "wash 3", time.March, 1, 0.1), at("stage", "wash 3", time.June, 0.97, 0.1)})
	if doubtful[1].Clear() {
		t.Errorf("a change within its doubt is called clear: %+v", doubtful[1])
	}
	var b bytes.Buffer
	if err := WritePlot(&b, "A17", all); err != nil || !strings.Contains(b.String(), "A17, green") {
		t.Errorf("%v: %.80s", err, b.String())
	}
	if WritePlot(&b, "A17", all[:1]) == nil {
		t.Error("a single run was plotted")
	}
}

// A profile whose emitters were put in another order, or exchanged, since the first run ages no emitter.
func TestAnEmitterIsComparedWithItselfAlone(t *testing.T) {
	at := func(day int, names ...string) Lamp {
		l := Lamp{Rig: "stage", Fixture: "wash", Profile: "wash", Started: time.Date(2026, 3, day, 0, 0, 0, 0, time.UTC)}
		for _, n := range names {
			share := map[string]float64{"red": -0.4, "green": 0.7, "blue": -0.3, "amber": 0.1}[n]
			l.Emitters = append(l.Emitters, solve.EmitterNow{Name: n, U: 0.3 + share/10, V: 0.5, SDUV: 0.001, LnShare: share, ShareSD: 0.01})
		}
		return l
	}
	for _, trend := range Trends([]Lamp{at(1, "red", "green", "blue"), at(2, "blue", "red", "green")}) {
		if trend.Runs != 2 || trend.Clear() || trend.Moved > 0 {
			t.Errorf("nothing has changed but the order: %+v", trend)
		}
	}
	if got := Trends([]Lamp{at(1, "red", "green", "amber"), at(2, "red", "green", "blue")}); len(got) != 0 {
		t.Errorf("shares beside other emitters were compared: %+v", got)
	}
}
