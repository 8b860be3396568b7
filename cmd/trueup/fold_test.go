package main

import (
	"slices"
	"strings"
	"testing"
)

// foldedTo is what a terminal of so many cells shows of pieces that are written one after another.
func foldedTo(cells int, pieces ...string) string {
	var b strings.Builder
	f := &fold{to: &b, hang: usualHang, width: func() int { return cells }, known: func(names []string) bool {
		return slices.Contains([]string{"feed", "feed align", "match", "recall", "check"}, strings.Join(names, " "))
	}}
	for _, p := range pieces {
		f.Write([]byte(p))
	}
	return b.String()
}

// Words stay whole, and what goes on stands to the right of where its line began, or under its column.
func TestLongLinesBreakBetweenWords(t *testing.T) {
	for _, c := range []struct {
		name, want string
		pieces     []string
	}{
		{"a sentence", "the run took 46 s: fades\n  within the limits\n", []string{"the run took 46 s: fades within the limits\n"}},
		{"an indented one", "  light rises by at most\n    50 %\n", []string{"  light rises by at most 50 %\n"}},
		{"a number and its unit", "the run has taken about\n  46 s, 50 % of it\n", []string{"the run has taken about 46 s, 50 % of it\n"}},
		{"what fits", "the run took 46 s: fades\n\n  x\n", []string{"the run took 46 s: fades\n\n  x\n"}},
		{"a word that no line holds", "a\npath/that/is/longer/than/the/line\n  b\n", []string{"a path/that/is/longer/than/the/line b\n"}},
		{"wide characters", "光光光光光光 光光光光\n  光光\n", []string{"光光光光光光 光光光光 光光\n"}},
	} {
		if got := foldedTo(24, c.pieces...); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	table := []string{"wash", "    ", "0.0076", "    ", "nearest point 0.0147 off: 370 K warmer, clearly green", "\n", "cyc", "     ", "0.0238", "\n"}
	want := "wash    0.0076    nearest point 0.0147 off:\n                  370 K warmer, clearly\n                  green\ncyc     0.0238\n"
	if got := foldedTo(43, table...); got != want {
		t.Errorf("a table, cell by cell: %q, want %q", got, want)
	}
	// Where there is no room for the last column it begins below, in the head and in every row alike.
	table = []string{"fixture", "  ", "readings", "     ", "in words", "\n", "wash", "     ", "4 + 1 aside", "  ", "the same to the eye", "\n"}
	want = "fixture  readings     \n  in words\nwash     4 + 1 aside  \n  the same to the eye\n"
	if got := foldedTo(28, table...); got != want {
		t.Errorf("a table with a last column below: %q, want %q", got, want)
	}
}

// A command that a person may copy is never broken, and where it does not fit it stands on a line by itself.
func TestCommandsStayWhole(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"at the end", "to see the matched look: trueup recall out/2026 --stage a,b\n", "to see the matched look:\n  trueup recall out/2026 --stage a,b\n"},
		{"longer than the terminal", "next: trueup recall out/2026-11-27-1736-museum-corner --stage 127.0.0.1:1,127.0.0.1:2\n", "next:\ntrueup recall out/2026-11-27-1736-museum-corner --stage 127.0.0.1:1,127.0.0.1:2\n"},
		{"a line of its own already", "  trueup match beside-a-desk/rig.yaml --live      (in a second terminal)\n", "  trueup match beside-a-desk/rig.yaml --live\n    (in a second terminal)\n"},
		{"in a sentence", "it is beyond reach, 'trueup match a/rig.yaml --live' brings it nearer\n", "it is beyond reach,\n  'trueup match a/rig.yaml --live'\n  brings it nearer\n"},
		{"named in a sentence", "what is claimed is so by each probe; trueup feed align, in a terminal, says\n", "what is claimed is so by each probe;\n  trueup feed align, in a terminal, says\n"},
		{"with what stands for a rig", "best common colour is what you want (trueup match RIG --best-common) or\n", "best common colour is what you want\n  (trueup match RIG --best-common) or\n"},
	} {
		if got := foldedTo(44, c.text); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// The mark under a line of a file stands where it stood: such a line is cut, not folded.
func TestTheMarkUnderALineStandsRight(t *testing.T) {
	if got, want := foldedTo(20, "   12 | name: a b c d e f g\n      |       ^\n"), "   12 | name: a b c…\n      |       ^\n"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// Behind a question the cursor stands where the answer is typed, and after it a line begins.
func TestAQuestionIsFoldedAndKeepsItsSpace(t *testing.T) {
	if got, want := foldedTo(24, "Type yes to move the light: "), "Type yes to move the\n  light: "; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// Paragraphs of a help that were broken for another width are joined first; lists are not.
func TestHelpIsFittedToTheTerminal(t *testing.T) {
	f := &fold{width: func() int { return 30 }, known: func([]string) bool { return false }}
	got := f.text(reflowed("Reads the rig and all\nit names, and shows the limits.\n\n  a list\n  of two\nExit codes: 0"))
	if want := "Reads the rig and all it\nnames, and shows the limits.\n\n  a list\n  of two\nExit codes: 0"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
