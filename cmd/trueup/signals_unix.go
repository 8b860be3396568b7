//go:build unix

package main

import (
	"os"
	"os/signal"
	"syscall"
)

// failedWrite comes when nobody reads our output any more, or when a file may grow no further.
// Writing then fails: a lost listener ends nothing, and a journal that can not be kept ends the run,
// gently. One such signal for every write must not count as somebody who asks again to leave at once.
var failedWrite = []os.Signal{syscall.SIGPIPE, syscall.SIGXFSZ}

var holdSignals = []os.Signal{syscall.SIGTSTP}

func isHold(s os.Signal) bool { return s == syscall.SIGTSTP }

// endSignals are all that can be caught and would end the process, but for the ones that a
// fault of its own raises. A signal that the caller of this program has set to be
// ignored (nohup) stays so, except the ones that people send on purpose.
func endSignals() []os.Signal {
	end := []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGQUIT}
	for _, s := range []os.Signal{syscall.SIGHUP, syscall.SIGUSR1, syscall.SIGUSR2, syscall.SIGALRM, syscall.SIGVTALRM, syscall.SIGXCPU} {
		if !signal.Ignored(s) {
			end = append(end, s)
		}
	}
	return end
}

// signalWords names a signal for a person.
func signalWords(s os.Signal) string {
	switch s {
	case os.Interrupt:
		return "Ctrl-C"
	case syscall.SIGTERM:
		return "the system's signal to end"
	case syscall.SIGHUP:
		return "the end of the terminal or the connection"
	}
	return "the signal " + s.String()
}
