package core

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"trueup/loop/solve"
)

// journalOf is what a run puts on disk.
func journalOf(t *testing.T, b *bench, cfg Config) []Entry {
	t.Helper()
	all := append([]Entry{{Kind: KindRun, Run: &RunInfo{Version: JournalVersion, Core: &cfg}}}, b.log...)
	for i := range all {
		all[i].Seq = uint64(i) + 1
	}
	text, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	var kept []Entry
	if err := json.Unmarshal(text, &kept); err != nil {
		t.Fatal(err)
	}
	return kept
}

// Played again a journal gives the same run. One figure, code or outcome that differs is
// found, with the number of its entry; another wording is no difference.
func TestReplayFindsEveryOtherDecision(t *testing.T) {
	var cfg Config
	b := newBench(t, 2, func(c *Config) { cfg = *c }).ended(nil)
	cfg.Plan.Target.Reference = "window"
	fresh := func() []Entry { return journalOf(t, b, cfg) }
	if _, err := Replay(fresh()); err != nil {
		t.Fatal(err)
	}
	reworded := fresh()
	for i := range reworded {
		e := &reworded[i]
		if e.Note != "" {
			e.Note = "said otherwise"
		}
		if e.Step != nil {
			e.Step.Words = "said otherwise"
		}
		if e.Account != nil {
			e.Account.Words = "said otherwise"
		}
		if e.Outcome != nil {
			e.Outcome.Words, e.Outcome.Reason, e.Outcome.Advice = "said otherwise", "said otherwise", "said otherwise"
		}
	}
	if _, err := Replay(reworded); err != nil {
		t.Errorf("another wording is a difference: %v", err)
	}
	first := func(all []Entry, is func(Entry) bool) *Entry {
		for i := range all {
			if is(all[i]) {
				return &all[i]
			}
		}
		t.Fatal("the run lacks what is to be changed")
		return nil
	}
	for name, change := range map[string]func(all []Entry) *Entry{
		"a code": func(all []Entry) *Entry {
			e := first(all, func(e Entry) bool { return e.Kind == KindStep })
			e.Step.Codes[0]++
			return e
		},
		"a figure": func(all []Entry) *Entry {
			e := first(all, func(e Entry) bool { return e.Account != nil })
			e.Account.Innovation += 1e-15
			return e
		},
		"an outcome": func(all []Entry) *Entry {
			e := first(all, func(e Entry) bool { return e.Outcome != nil })
			e.Outcome.Result = solve.Held
			return e
		},
	} {
		all := fresh()
		at := change(all).Seq
		if _, err := Replay(all); err == nil || !strings.Contains(err.Error(), fmt.Sprintf("entry %d:", at)) {
			t.Errorf("%s: got %v, want entry %d", name, err, at)
		}
	}
	cut := fresh()
	if _, err := Replay(cut[:len(cut)/2]); err != nil {
		t.Errorf("cut short as by a crash: %v", err)
	}
	lost := fresh()
	n := len(lost) / 2
	for lost[n].Event != nil {
		n++
	}
	if _, err := Replay(append(lost[:n:n], lost[n+1:]...)); err == nil {
		t.Error("a lost entry is not noticed")
	}
	old := fresh()
	old[0].Run.Version = 0
	for what, all := range map[string][]Entry{"can not be played again": old, "does not begin": fresh()[1:], "must be positive": func() []Entry {
		all := fresh()
		all[0].Run.Core.Plan.Tolerance = 0
		return all
	}()} {
		if _, err := Replay(all); err == nil || !strings.Contains(err.Error(), what) {
			t.Errorf("got %v, want %q", err, what)
		}
	}
}
