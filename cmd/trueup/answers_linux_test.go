package main

import (
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
)

// interrupted is a terminal at which somebody presses Ctrl-C as soon as a text is shown.
type interrupted struct {
	at   string
	mu   sync.Mutex
	text strings.Builder
	sent bool
}

func (w *interrupted) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.text.Write(p)
	if !w.sent && strings.Contains(w.text.String(), w.at) {
		w.sent = true
		return len(p), syscall.Kill(os.Getpid(), syscall.SIGINT)
	}
	return len(p), nil
}

// Ctrl-C at a question ends gently, with the exit code that the help lists, and says what was not done.
// Not beside other tests: the signal is for the whole process.
func TestCtrlCAtAQuestionEndsGently(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	if code := run([]string{"rig", "copy-example", "led-wall"}, nil, io.Discard, os.Stderr); code != exitLanded {
		t.Fatal("no rig to try with")
	}
	_, pty := openPTY(t)
	for _, c := range []struct {
		args []string
		at   string
		want string
		file string
	}{
		{[]string{"start"}, "nothing or try [nothing]: ", "error: stopped by Ctrl-C; nothing is written", "rig.yaml"},
		{[]string{"rig", "new", "mine.yaml"}, "Name of the rig: ", "error: stopped by Ctrl-C; nothing is written", "mine.yaml"},
		{[]string{"profile", "new", "lamp.yaml"}, "Name of the fixture: ", "error: stopped by Ctrl-C; nothing is written", "lamp.yaml"},
		{[]string{"match", "led-wall/rig.yaml", "--live"}, "Type yes to move light: ", "error: stopped by Ctrl-C; no light was moved", "trueup-out"},
	} {
		w := &interrupted{at: c.at}
		if code := run(c.args, pty, w, w); code != exitStopped {
			t.Errorf("%v: exit code %d", c.args, code)
		}
		if text := w.text.String(); !strings.Contains(text, c.want) {
			t.Errorf("%v: %s", c.args, text)
		}
		if _, err := os.Stat(filepath.Join(dir, c.file)); err == nil {
			t.Errorf("%v: %s is there", c.args, c.file)
		}
	}
}
