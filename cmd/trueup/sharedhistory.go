package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"trueup/cmd/trueup/history"
	"trueup/loop/session"
	"trueup/profiles/oserror"
	"trueup/profiles/printable"
)

// How long what was not sent yet may be sent for: after a run, and where a person asks for the history.
const (
	sharePatience      = 10 * time.Second
	askedSharePatience = time.Minute
)

// historyServer connects to the server of the settings; nil where there is none.
func historyServer(ctx context.Context, set *settings) (*history.Server, error) {
	if set.History == "" {
		return nil, nil
	}
	a := history.Access{Address: set.History}
	secrets, err := readSecrets()
	if err != nil {
		return nil, err
	}
	if secrets != nil {
		a.User, a.Password = secrets.History.User, secrets.History.Password
	}
	return history.Connect(ctx, a)
}

// shareWith sends a server what it does not have of the runs of this machine, and says so once where it can not.
func shareWith(ctx context.Context, x *history.Index, set *settings, s *history.Server, err error, w io.Writer) error {
	left := 0
	if err == nil {
		_, left, err = x.SendTo(ctx, s)
	}
	if err == nil {
		return nil
	}
	runs := ""
	if left > 0 {
		runs = fmt.Sprintf(" (%s)", printable.Count(left, "run"))
	}
	fmt.Fprintf(w, "history: %s. The journals and the index in %s have it all; what is not on the server%s is sent after a later run, or by 'trueup history'.\n",
		strings.TrimPrefix(oserror.Text(err), "history: "), set.Out, runs)
	return err
}

// shareRuns brings the index of this machine up to date and sends what is new. It is done after a run, which never waits for it, and ends within
// [sharePatience]: what it has come to by then stays.
func shareRuns(ctx context.Context, set *settings, w io.Writer) {
	if set.History == "" {
		return
	}
	ctx, cancel := context.WithTimeout(ctx, sharePatience)
	defer cancel()
	x, err := history.Open(ctx, set.Out, false)
	if err != nil {
		fmt.Fprintln(w, oserror.Text(err))
		return
	}
	defer x.Close()
	s, err := historyServer(ctx, set)
	if s != nil {
		defer s.Close()
	}
	shareWith(ctx, x, set, s, err, w)
}

// leavesRun marks a command that leaves runs behind.
func leavesRun(c *cobra.Command) *cobra.Command {
	c.Annotations = map[string]string{"leaves": "run"}
	return c
}

// shareAfter sends what a command left, when all it had to say is said. A signal ends it, and not the exit code of the command.
func shareAfter(c *cobra.Command, began time.Time, w io.Writer) {
	if c == nil || c.Annotations["leaves"] == "" {
		return
	}
	if set, err := loadSettings(c.Flags()); err == nil && set.History != "" && wroteJournal(set.Out, began) {
		ctx, stop := signal.NotifyContext(context.Background(), endSignals()...)
		defer stop()
		shareRuns(ctx, set, w)
	}
}

// wroteJournal tells whether a journal has changed since a moment: a rehearsal leaves none.
func wroteJournal(root string, since time.Time) bool {
	found, _ := filepath.Glob(filepath.Join(root, "*", session.JournalName)) // the pattern is ours
	for _, path := range found {
		if i, err := os.Stat(path); err == nil && !i.ModTime().Before(since.Truncate(time.Second)) {
			return true
		}
	}
	return false
}

// sharing sends in the background what the runs of a page leave. It may still be at it when the next one begins, which never waits for it.
type sharing struct {
	wake chan struct{}
	over sync.WaitGroup
	end  context.CancelFunc
}

// startSharing waits for the end of a run; nil without a server.
func startSharing(ctx context.Context, set *settings, w io.Writer) *sharing {
	if set.History == "" {
		return nil
	}
	ctx, end := context.WithCancel(context.WithoutCancel(ctx))
	s := &sharing{wake: make(chan struct{}, 1), end: end}
	s.over.Go(func() {
		for {
			select {
			case <-ctx.Done():
				return
			case <-s.wake:
				if ctx.Err() == nil {
					shareRuns(ctx, set, w)
				}
			}
		}
	})
	return s
}

// run says that a run has ended. It never waits.
func (s *sharing) run() {
	if s == nil {
		return
	}
	select {
	case s.wake <- struct{}{}:
	default: // it is on its way
	}
}

// close breaks off what is on its way: it is sent another time.
func (s *sharing) close() {
	if s != nil {
		s.end()
		s.over.Wait()
	}
}
