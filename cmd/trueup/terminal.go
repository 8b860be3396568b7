package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"sync"

	"trueup/loop/feed"
	"trueup/profiles/printable"
)

// terminal is a person at a prompt. One goroutine reads lines for as long as
// the program lives: a terminal can not be woken.
type terminal struct {
	in    io.Reader
	out   io.Writer
	once  sync.Once
	lines chan string
	ended error
}

func newTerminal(in io.Reader, out io.Writer) *terminal {
	return &terminal{in: in, out: out, lines: make(chan string)}
}

// line prompts and waits for a line, for as long as it takes. io.EOF when the
// terminal was closed.
func (t *terminal) line(ctx context.Context, format string, args ...any) (string, error) {
	t.once.Do(func() {
		go func() {
			s := bufio.NewScanner(t.in)
			for s.Scan() {
				t.lines <- s.Text()
			}
			if t.ended = s.Err(); t.ended == nil {
				t.ended = io.EOF
			}
			close(t.lines)
		}()
	})
	fmt.Fprintf(t.out, format, args...)
	select {
	case line, ok := <-t.lines:
		if !ok {
			return "", t.ended
		}
		entered(t.out)
		return line, nil
	case <-ctx.Done():
		return "", ctx.Err()
	}
}

// ask puts a feed's question.
func (t *terminal) ask(ctx context.Context, q feed.Question) (string, error) {
	where := "the meter"
	if q.Probe != "" {
		where = "the meter at " + printable.Text(q.Probe)
	}
	if q.Fixture != "" {
		where = printable.Text(q.Fixture) + ": " + where
	}
	switch {
	case q.Problem != "" && q.Understood == "":
		return t.line(ctx, "  %s\n  %s shows: ", q.Problem, where)
	case q.Problem != "":
		return t.line(ctx, "  %s\n  = %s\n  Enter if right, or type it again: ", q.Problem, q.Understood)
	case q.Understood != "":
		return t.line(ctx, "  = %s\n  Enter if right, or type it again: ", q.Understood)
	}
	if q.Dark {
		return t.line(ctx, "  With the fixtures out, %s shows (dark if nothing): ", where)
	}
	more := ""
	switch {
	case q.Skip && q.Undo:
		more = "; skip or undo"
	case q.Skip:
		more = "; or skip"
	case q.Undo:
		more = "; or undo"
	}
	if q.Any {
		more = ", or none if it has no figures" + more
	}
	return t.line(ctx, "  %s shows (kelvin and Duv, or x and y%s): ", where, more)
}
