package feed

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"strings"
	"sync"
	"time"
)

// child runs a program and reads its standard output. It runs only when the
// person's own settings allow it: a rig file that came by mail must not be able
// to start programs.
type child struct {
	command []string
	dir     string
}

func newExec(c Config) (transport, error) {
	command := c.Command
	if len(command) == 0 {
		var err error
		if command, err = words(c.Address); err != nil {
			return nil, fmt.Errorf("feed %s: %w", c.Name, err)
		}
	}
	if len(command) == 0 || command[0] == "" {
		return nil, fmt.Errorf("feed %s: which program?", c.Name)
	}
	if !c.AllowExec {
		return nil, fmt.Errorf("feed %s: starting %q is not allowed; a program is started only if the settings of this machine say so (allow_exec)", c.Name, strings.Join(command, " "))
	}
	return &child{command, c.Dir}, nil
}

// words splits a command at white space. Text in single or double quotes is
// one word; there is no shell, so nothing else has a meaning.
func words(s string) ([]string, error) {
	var out []string
	var word strings.Builder
	inWord, quote := false, rune(0)
	for _, r := range s {
		switch {
		case quote != 0 && r == quote:
			quote = 0
		case quote != 0:
			word.WriteRune(r)
		case r == '"' || r == '\'':
			quote, inWord = r, true
		case r == ' ' || r == '\t':
			if inWord {
				out = append(out, word.String())
				word.Reset()
				inWord = false
			}
		default:
			word.WriteRune(r)
			inWord = true
		}
	}
	if quote != 0 {
		return nil, fmt.Errorf("%q: a quote is not closed", s)
	}
	if inWord {
		out = append(out, word.String())
	}
	return out, nil
}

// childGrace is how long a program may take to end once its input is closed.
const childGrace = 2 * time.Second

func (t *child) run(ctx context.Context, f *Feed) error {
	cmd := exec.Command(t.command[0], t.command[1:]...)
	cmd.Dir = t.dir
	ownGroup(cmd)
	in, err := cmd.StdinPipe()
	if err != nil {
		return err
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	last := &lastLine{}
	cmd.Stderr = last
	cmd.WaitDelay = childGrace
	if err := cmd.Start(); err != nil {
		if errors.Is(err, exec.ErrNotFound) {
			return refuse("starting %s: %w", t.command[0], err)
		}
		return fmt.Errorf("starting %s: %w", t.command[0], err)
	}
	p := &pipes{Reader: out, Writer: in, close: func() {
		in.Close()
		killGroup(cmd, false)
		out.Close()
	}}
	err = stream(ctx, p, newLink(f))
	deaf := time.AfterFunc(childGrace, func() { killGroup(cmd, true) })
	werr := cmd.Wait()
	deaf.Stop()
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if words := last.String(); words != "" {
		return fmt.Errorf("the program %s ended%s: %s", t.command[0], with(werr), words)
	}
	if werr != nil {
		return fmt.Errorf("the program %s ended (%w)", t.command[0], werr)
	}
	if errors.Is(err, io.EOF) {
		return fmt.Errorf("the program %s ended", t.command[0])
	}
	return err
}

// with is how a program ended, behind the words that it did.
func with(err error) string {
	if err == nil {
		return ""
	}
	return " (" + err.Error() + ")"
}

type pipes struct {
	io.Reader
	io.Writer
	once  sync.Once
	close func()
}

func (p *pipes) Close() error { p.once.Do(p.close); return nil }

// lastLine keeps the last words of a program that failed.
type lastLine struct {
	mu sync.Mutex
	b  []byte
}

func (l *lastLine) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.b = append(l.b, p...)
	if len(l.b) > 1024 {
		l.b = l.b[len(l.b)-1024:]
	}
	return len(p), nil
}

func (l *lastLine) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	t := bytes.TrimSpace(l.b)
	if i := bytes.LastIndexByte(t, '\n'); i >= 0 {
		t = t[i+1:]
	}
	return string(t)
}
