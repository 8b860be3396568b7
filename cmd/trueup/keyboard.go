package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"

	"trueup/cmd/trueup/page"
	"trueup/loop/session"
)

// keyboard is a person at the terminal of a run that asks no questions; nil where standard
// input is no terminal.
func keyboard(in io.Reader, out io.Writer) *terminal {
	f, ok := in.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil
	}
	return newTerminal(in, out)
}

// obey does what a person types while a run works, until stop is called: skip (or s)
// leaves the fixture that is worked at.
func (t *terminal) obey(run *session.Run, out io.Writer) (stop func()) {
	if t == nil {
		return func() {}
	}
	ctx, stop := context.WithCancel(context.Background())
	go func() {
		for {
			line, err := t.line(ctx, "")
			if err != nil {
				return
			}
			switch strings.ToLower(strings.TrimSpace(line)) {
			case "s", "skip":
				fmt.Fprintln(out, page.SkippedWords(run.Skip(ctx)))
			case "n", "next":
				run.Next(ctx)
			case "":
			default:
				fmt.Fprintln(out, "next and Enter goes on where a point is to be read; skip and Enter leaves the fixture that is worked at; Ctrl-Z holds the run, Ctrl-C ends it gently")
			}
		}
	}()
	return stop
}
