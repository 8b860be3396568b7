package main

import (
	"io"
	"os"

	"golang.org/x/term"

	"trueup/profiles/printable"
)

// Everything that a command writes passes a printable.Writer, so that no text
// from a network, an instrument or a file can do more to a terminal than print,
// and on its way to a terminal a fold. Those who draw in place write past both,
// and give what they draw through printable.Text.

// screen is the writer past which nothing stands but the terminal.
func screen(w io.Writer) io.Writer {
	if f := foldOf(w); f != nil {
		return f.to
	}
	if p, ok := w.(*printable.Writer); ok {
		return p.Unwrap()
	}
	return w
}

// terminalOf is the terminal that w leads to, nil if it leads to something else.
func terminalOf(w io.Writer) *os.File {
	if f, ok := screen(w).(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		return f
	}
	return nil
}

func isTerminal(w io.Writer) bool { return terminalOf(w) != nil }
