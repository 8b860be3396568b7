package main

import (
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"

	"github.com/charmbracelet/x/ansi"
	"github.com/spf13/cobra"

	"trueup/profiles/printable"
)

// fold breaks long lines for a terminal, which would break them inside words. Words stay whole, and so do commands
// that a person may copy: one that does not fit behind what stands before it gets a line of its own. What goes on stands
// under the beginning of its column, or a little to the right of the line's.
//
// How it knows a command: it stands in single quotes, or after a colon or at the beginning of a line up to its end; elsewhere only
// the names of commands are kept together.
type fold struct {
	mu    sync.Mutex
	to    io.Writer
	width func() int
	known func(names []string) bool // whether there is such a command
	hang  int                       // how far to the right of a line's beginning it goes on

	line  foldedLine
	alone bool // a command stands on this line by itself
}

// foldedLine is how far a line has come that may not have ended.
type foldedLine struct {
	cells, lead, column int    // where the cursor stands; where the line began, and its last column
	gap                 string // spaces after the last word
	last                string // the last word
	words               bool   // there is a word on this row of the screen
}

const (
	usualHang   = 2
	leastColumn = 24 // cells that a column needs for its text to go on under itself
)

// newFold is a writer for what stands before it, with the commands below root.
func newFold(f *os.File, root *cobra.Command) *fold {
	return &fold{to: f, hang: usualHang, width: func() int { w, _ := sizeOf(f); return w - 1 },
		known: func(names []string) bool {
			c, rest, err := root.Find(names)
			return err == nil && c != root && len(rest) == 0
		}}
}

// data is standard output for what a program reads: nothing in it is folded.
func data(c *cobra.Command) io.Writer { return unfolded(c.OutOrStdout()) }

func unfolded(w io.Writer) io.Writer {
	if f := foldOf(w); f != nil {
		return printable.NewWriter(f.to)
	}
	return w
}

// foldOf is what folds the text that is written to w, nil if nothing does.
func foldOf(w io.Writer) *fold {
	if p, ok := w.(*printable.Writer); ok {
		w = p.Unwrap()
	}
	f, _ := w.(*fold)
	return f
}

// entered tells w that a person has typed a line behind what was written: what comes begins a new one.
func entered(w io.Writer) {
	if f := foldOf(w); f != nil {
		f.mu.Lock()
		f.line, f.alone = foldedLine{}, false
		f.mu.Unlock()
	}
}

// Write implements io.Writer.
func (f *fold) Write(p []byte) (int, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	var b strings.Builder
	for text := range strings.Lines(string(p)) {
		text, ended := strings.CutSuffix(text, "\n")
		f.put(&b, text)
		f.trail(&b)
		if ended {
			b.WriteByte('\n')
			f.line, f.alone = foldedLine{}, false
		}
	}
	if _, err := io.WriteString(f.to, b.String()); err != nil {
		return 0, err
	}
	return len(p), nil
}

// trail writes the spaces at the end of what there is yet of a line, behind which stands the cursor of a question.
func (f *fold) trail(b *strings.Builder) {
	l := &f.line
	if len(l.gap) == 0 || l.cells+len(l.gap) > f.width() {
		return
	}
	b.WriteString(l.gap)
	l.cells += len(l.gap)
	if l.last != "" && len(l.gap) > 1 {
		l.column = l.cells
	}
	l.gap = ""
}

// excerpted is a line of a file that is shown with a mark under it: folded, the mark would stand wrong.
var excerpted = regexp.MustCompile(`^ *[0-9]* +\| `)

// put writes a part of a line.
func (f *fold) put(b *strings.Builder, text string) {
	l := &f.line
	if l.cells == 0 && excerpted.MatchString(text) {
		b.WriteString(ansi.Truncate(text, f.width(), "…"))
		return
	}
	for text != "" {
		word := strings.TrimLeft(text, " ")
		if gap := text[:len(text)-len(word)]; gap != "" {
			l.gap += gap
		}
		if word == "" {
			return
		}
		n, command := f.unit(word)
		cell, _, _ := strings.Cut(word, "  ")
		if l.startsColumn() && l.cells+len(l.gap)+ansi.StringWidth(cell) > f.width() && f.width()-l.cells-len(l.gap) < leastColumn {
			f.next(b, l.lead+f.hang) // a column with no room for it begins below
			l.column = 0
		}
		f.word(b, word[:n], command)
		text = word[n:]
	}
}

// word writes a word, or a command, on this row or the next.
func (f *fold) word(b *strings.Builder, word string, command bool) {
	l := &f.line
	wide := ansi.StringWidth(word)
	switch {
	case l.words && (f.alone || l.cells+len(l.gap)+wide > f.width()):
		to := min(l.lead+f.hang, max(f.width()-wide, 0))
		if l.column > 0 && !command && f.width()-l.column >= leastColumn {
			to = l.column
		}
		f.next(b, to)
		f.alone = command
	default:
		b.WriteString(l.gap)
		l.cells += len(l.gap)
		switch {
		case l.last == "":
			l.lead = l.cells
		case len(l.gap) > 1:
			l.column = l.cells
		}
	}
	b.WriteString(word)
	l.cells, l.gap, l.last, l.words = l.cells+wide, "", word, true
}

// next goes to the next row.
func (f *fold) next(b *strings.Builder, indent int) {
	b.WriteString("\n" + strings.Repeat(" ", indent))
	f.line.cells, f.line.gap, f.line.words, f.alone = indent, "", false, false
}

// startsColumn tells whether a column begins here, behind another.
func (l *foldedLine) startsColumn() bool {
	return l.words && (len(l.gap) > 1 || l.gap == "" && l.column > 0 && l.column == l.cells)
}

// measured is a number with its unit, which stay together.
var measured = regexp.MustCompile(`^[(±+−-]*[0-9][0-9.]* (s|ms|min|h|K|lux|nm|Hz|mired|MB|kB)\b[^ ]*|^[(±+−-]*[0-9][0-9.]* %[^ ]*`)

// unit is how much of a text stays together that begins with a word, and whether it is a command with all that belongs to it.
func (f *fold) unit(text string) (n int, command bool) {
	n = strings.IndexByte(text, ' ')
	if n < 0 {
		return len(text), false
	}
	first := text[:n]
	if m := measured.FindString(text); m != "" {
		return len(m), false
	}
	if strings.TrimLeft(first, "'(\"") != ourName {
		return n, false
	}
	if at := strings.IndexByte(first, '\''); at >= 0 {
		end := strings.IndexByte(text[at+1:], '\'')
		if end < 0 {
			return n, false
		}
		n = at + 1 + end
		if more := strings.IndexByte(text[n:], ' '); more >= 0 {
			return n + more, true
		}
		return len(text), true
	}
	if f.line.last == "" || strings.HasSuffix(f.line.last, ":") {
		tail, _, _ := strings.Cut(text, "  ")
		tail = strings.TrimRight(tail, " ")
		if !slices.ContainsFunc([]string{", ", "; ", ". ", " ("}, func(s string) bool { return strings.Contains(tail, s) }) {
			return len(tail), true
		}
	}
	return f.named(text), false
}

// named is how much of a text names a command, with options and what stands for its arguments.
func (f *fold) named(text string) int {
	var names []string
	n := len(ourName)
	if n = strings.Index(text, ourName) + len(ourName); n < len(text) && text[n] != ' ' {
		return n
	}
	for n < len(text) {
		next := strings.TrimLeft(text[n:], " ")
		word, _, _ := strings.Cut(next, " ")
		bare := strings.TrimRight(word, ",.;:)'\"")
		if bare == "" {
			break
		}
		names = append(names, bare)
		option := strings.HasPrefix(bare, "--") || bare == strings.ToUpper(bare)
		if option {
			names = names[:len(names)-1]
		} else if !f.known(names) {
			break
		}
		n = len(text) - len(next) + len(word)
		if bare != word {
			break
		}
	}
	return n
}

// ourName is what a person types first.
const ourName = "trueup"

// reflowed joins the lines of each paragraph, for a terminal of any width. Indented lines stay as they are.
func reflowed(text string) string {
	var b strings.Builder
	joins := false
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		plain := line != "" && line[0] != ' ' && line[0] != '-'
		switch {
		case joins && plain:
			b.WriteByte(' ')
		case b.Len() > 0:
			b.WriteByte('\n')
		}
		b.WriteString(line)
		joins = plain
	}
	return b.String()
}

// text breaks a text as fold does, but for paragraphs: what goes on stands under its beginning.
func (f *fold) text(text string) string {
	var b strings.Builder
	io.WriteString(&fold{to: &b, width: f.width, known: f.known}, text)
	return b.String()
}
