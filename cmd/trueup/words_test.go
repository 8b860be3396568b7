package main

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"trueup/cmd/trueup/report"
	"trueup/colorcalc"
	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// Who types a reading where a fixture is to be set first is told so.
func TestAReadingTypedTooEarlyIsAnswered(t *testing.T) {
	var out bytes.Buffer
	err := newTerminal(strings.NewReader("4310 -0.002\n\n"), &out).dial(t.Context(), session.HandStep{Lamp: "knob", Set: []session.Setting{{Name: "CCT", Value: 4300, Unit: "K"}}})
	if err != nil || !strings.Contains(out.String(), "set the fixture first; what the meter shows is asked for after that") {
		t.Errorf("%v: %s", err, out.String())
	}
}

// A light on the locus has no tint to name.
func TestALightWithoutATintHasNoEmptyWord(t *testing.T) {
	xy, err := colorcalc.White(4300, 0)
	if err != nil {
		t.Fatal(err)
	}
	if text := strings.Join(quantities("key", feed.Reading{UV: xy.UV()}), "\n"); strings.Contains(text, "()") || !strings.Contains(text, "4300 K") {
		t.Error(text)
	}
}

// A report that can not be written is named by its own name, not by that of a file of the moment.
func TestAReportThatCanNotBeWrittenHasItsName(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "gone")
	err := writeUpWith(dir, &session.Summary{Reference: &session.Reference{}}, report.Extras{})
	if err == nil || !strings.Contains(err.Error(), filepath.Join(dir, "report.html")+":") || strings.Contains(err.Error(), ".report.html") {
		t.Errorf("got %v", err)
	}
	var out bytes.Buffer
	printResult(&out, &session.Result{Dir: dir, Summary: &session.Summary{Reference: &session.Reference{}}, WriteUp: err})
	if !strings.Contains(out.String(), "\njournal: "+dir) {
		t.Errorf("said: %s", out.String())
	}
}

// Bounds are told as they may be typed, and one is one.
func TestBoundsAndCountsAreReadable(t *testing.T) {
	for _, f := range []runFlags{{live: true, watch: time.Hour}, {live: true, warmUp: 2 * time.Hour}} {
		var e *exitError
		if err := f.check(); !errors.As(err, &e) || e.code != exitUsage || strings.Contains(err.Error(), "to 2m0s") || strings.HasSuffix(err.Error(), "1h0m0s") {
			t.Errorf("said: %v", err)
		}
	}
	if err := (&runFlags{live: true, watch: time.Millisecond}).check(); err == nil || !strings.HasSuffix(err.Error(), "want 1s to 2m, or 0s to watch none but those that an earlier run found to change") {
		t.Errorf("said: %v", err)
	}
	s := &session.Summary{Info: session.RunInfo{Work: string(core.Match)}, Reference: &session.Reference{}, Fixtures: []session.FixtureSummary{
		{FixtureInfo: session.FixtureInfo{Name: "wash"}}, {FixtureInfo: session.FixtureInfo{Name: "spot", LeftOut: true}}}}
	if lead := report.Lead(s); lead != "Of 1 fixture: 1 not matched. Left out by choice: 1." {
		t.Error(lead)
	}
}

// A name that is none is answered with all names that can be chosen, in the order of the rig file, groups too where they can be.
func TestNamesThatCanBeChosenAreListedInTheirOrder(t *testing.T) {
	r, c := &rig.Rig{}, &session.Compiled{}
	for _, name := range []string{"panel 2", "panel 10"} {
		r.Fixtures = append(r.Fixtures, rig.Fixture{Name: name})
		c.Units = append(c.Units, &session.Unit{Unit: core.Unit{Info: session.FixtureInfo{Name: name}}})
	}
	r.Groups = []rig.Group{{Name: "upstage", Fixtures: []int{1}}}
	for want, h := range map[string]choice{"there are: panel 2, panel 10": {only: []string{"x"}}, "there are: panel 2, panel 10, upstage": {skip: []string{"x"}}} {
		if _, err := h.of(r, c); err == nil || !strings.HasSuffix(err.Error(), want) {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}

// In the table of a run, in its report and while it goes on "readings" are those that count, with what was set aside beside them; and
// where nothing tells how a fixture stood as found, that is said.
func TestTableAndReportCountTheSameReadings(t *testing.T) {
	for journal, want := range map[string][]string{
		"match": {"cob", `0\.\d{4}`, `0\.\d{4}`, `([1-9]\d*) \+ ([1-9]\d*) aside`, "landed"},
		"dark":  {"cob", "not read", `(0) \+ (4) aside`, "held"},
	} {
		past, err := readPast(filepath.Join("..", "..", "testdata", "journals", "v2", journal+".jsonl"))
		if err != nil {
			t.Fatal(err)
		}
		var table, page, lines bytes.Buffer
		printResult(&table, &session.Result{Summary: past.sum})
		if err := report.WritePage(&page, past.sum, report.Extras{}); err != nil {
			t.Fatal(err)
		}
		show := newProgress(&lines)
		for _, e := range past.entries {
			show.Entry(e)
		}
		row := regexp.MustCompile(`(?m)^` + strings.Join(want, ` +`))
		counts := row.FindStringSubmatch(table.String())
		if counts == nil {
			t.Fatalf("%s: want %q in\n%s", journal, row, table.String())
		}
		if readings := counts[1] + " &#43; " + counts[2] + " aside"; !strings.Contains(page.String(), `data-l="readings">`+readings) {
			t.Errorf("%s: the report does not count %s", journal, readings)
		}
		if journal == "match" && !strings.Contains(lines.String(), fmt.Sprintf(" off after %s readings, %s more set aside", counts[1], counts[2])) {
			t.Errorf("while it goes on:\n%s", lines.String())
		}
	}
}
