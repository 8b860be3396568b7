package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"sync"
	"time"

	"trueup/loop/session"
)

// errStopped is the exit of a run that a person or a signal ended.
var errStopped = errors.New("stopped")

// oneWish is for how long after the first signal to end others are taken for the same wish. A closed terminal sends two, one by the kernel and one by
// the shell, and so do programs that end a process and then its group: all within milliseconds. A person who presses a key again takes longer.
const oneWish = 150 * time.Millisecond

// signals is what the system and the keyboard tell a run.
type signals struct {
	ctx    context.Context // ends with the first signal to end, which is its cause
	ch     chan os.Signal
	quit   chan struct{}
	once   sync.Once
	cancel context.CancelCauseFunc
	out    io.Writer

	mu    sync.Mutex
	run   *session.Run // once it is armed
	leave bool         // the second signal has come
}

// catchSignals ends ctx on the first Ctrl-C or any other signal that would end the
// process: a closed terminal or a dropped connection must not leave the stage lit.
// Ctrl-Z does not freeze the program, which would stop the levels; it holds the run, and
// lets it go on. Output that nobody reads any more is dropped and ends nothing.
func catchSignals(parent context.Context, out io.Writer) *signals {
	s := &signals{ch: make(chan os.Signal, 4), quit: make(chan struct{}), out: out}
	s.ctx, s.cancel = context.WithCancelCause(parent)
	signal.Ignore(failedWrite...)
	signal.Notify(s.ch, append(endSignals(), holdSignals...)...)
	go s.watch()
	return s
}

// stop lets the system have its signals back.
func (s *signals) stop() {
	s.once.Do(func() { signal.Stop(s.ch); close(s.quit); s.cancel(nil) })
}

// left tells whether a person wanted the lamps left as they stood.
func (s *signals) left() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.leave
}

// cause is err, or what ended the context where err says only that it ended: a signal while a run was armed.
func (s *signals) cause(err error) error {
	if errors.Is(err, context.Canceled) && s.ctx.Err() != nil {
		return context.Cause(s.ctx)
	}
	return err
}

// armed says which run the signals are for.
func (s *signals) armed(r *session.Run) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.run = r; s.leave {
		r.Leave()
	}
}

// saysOn is where a person is told what a signal did, from now on.
func (s *signals) saysOn(out io.Writer) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.out = out
}

func (s *signals) watch() {
	ends, first, holding := 0, time.Time{}, false
	for {
		select {
		case <-s.quit:
			return
		case sig := <-s.ch:
			if isHold(sig) {
				holding = s.toggle(holding)
				continue
			}
			if ends == 1 && time.Since(first) < oneWish {
				continue
			}
			switch ends++; ends {
			case 1:
				first = time.Now()
				s.cancel(fmt.Errorf("%w by %s", errStopped, signalWords(sig)))
			case 2:
				s.mu.Lock()
				if s.leave = true; s.run != nil {
					s.run.Leave()
				}
				s.mu.Unlock()
			}
		}
	}
}

// toggle holds the run, or lets it go on, and tells which it is now.
func (s *signals) toggle(holding bool) bool {
	s.mu.Lock()
	run, out := s.run, s.out
	s.mu.Unlock()
	if run == nil {
		fmt.Fprintln(out, "Ctrl-Z holds a run once it works; it does not work yet")
		return holding
	}
	if holding {
		run.GoOn(s.ctx) // not beside us: the order of two quick presses counts
		return false
	}
	fmt.Fprintln(out, "held: the fixtures stay as they are; Ctrl-Z again goes on, Ctrl-C ends gently")
	run.Hold(s.ctx)
	return true
}
