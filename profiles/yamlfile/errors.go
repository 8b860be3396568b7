package yamlfile

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"trueup/profiles/printable"
)

// maxErrors bounds how many errors of one file are kept.
const maxErrors = 200

// Error is one thing wrong in a file.
type Error struct {
	File      string // as given to Decode
	Line, Col int    // counted from 1; columns in characters; 0 = the whole file
	Msg       string // what is wrong, and what was expected
	Hint      string // what to do about it; may be empty
	Excerpt   string // the line and a caret under Col, "" for the whole file
	Missing   string // path of a key that is missing, such as $.name; "" where nothing is
}

// Error gives "file:line:col: message", and the hint after a semicolon.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", e.Line, e.Col)
	}
	b.WriteString(": " + e.Msg)
	if e.Hint != "" {
		b.WriteString("; " + e.Hint)
	}
	return b.String()
}

// Advise sets the hint and returns e.
func (e *Error) Advise(format string, args ...any) *Error {
	e.Hint = fmt.Sprintf(format, args...)
	return e
}

// Errors is everything wrong in one file, in the order of the file.
type Errors []*Error

// Error gives one line for each error.
func (e Errors) Error() string {
	lines := make([]string, len(e))
	for i, one := range e {
		lines[i] = one.Error()
	}
	return strings.Join(lines, "\n")
}

// Report gives the errors with their excerpts, as a terminal shows them.
func (e Errors) Report() string {
	var b strings.Builder
	for _, one := range e {
		bare := *one
		bare.Hint = ""
		b.WriteString(bare.Error() + "\n")
		if one.Excerpt != "" {
			b.WriteString(one.Excerpt + "\n")
		}
		if one.Hint != "" {
			b.WriteString("  hint: " + one.Hint + "\n")
		}
	}
	return b.String()
}

// Report gives an error with excerpts and hints where it comes from a file
// that this package read, and its plain text otherwise; it ends with a newline.
func Report(err error) string {
	var all Errors
	if errors.As(err, &all) {
		return all.Report()
	}
	var one *Error
	if errors.As(err, &one) {
		return Errors{one}.Report()
	}
	return err.Error() + "\n"
}

func (e Errors) sort() {
	slices.SortStableFunc(e, func(a, b *Error) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Col, b.Col))
	})
}

// excerpt shows a line with a caret under a column. Long lines are cut around
// the column; tabs stay tabs so that the caret stands right.
func excerpt(lines []string, line, col int) string {
	if line < 1 || line > len(lines) {
		return ""
	}
	const before, width = 40, 100 // the mark stands within a terminal of 60 columns
	text := []rune(lines[line-1])
	col = max(1, min(col, len(text)+1))
	from := max(0, col-1-before)
	to := min(len(text), from+width)
	pad := make([]rune, 0, before)
	for _, r := range text[from : col-1] {
		if r != '\t' {
			r = ' '
		}
		pad = append(pad, r)
	}
	shown := strings.Map(onScreen, string(text[from:to]))
	return fmt.Sprintf("%5d | %s\n      | %s^", line, shown, string(pad))
}

// onScreen keeps what a terminal must not act on out of an excerpt, one
// character for one so that the caret stands right.
func onScreen(r rune) rune {
	if r != '\t' && !printable.Rune(r) {
		return '\uFFFD'
	}
	return r
}
