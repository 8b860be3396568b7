//go:build !unix

package main

import (
	"os"
	"syscall"
)

// Windows has no such signals; a console that closes sends SIGTERM (package os/signal).
var (
	failedWrite = []os.Signal{syscall.SIGPIPE}
	holdSignals []os.Signal
)

func isHold(os.Signal) bool { return false }

func endSignals() []os.Signal { return []os.Signal{os.Interrupt, syscall.SIGTERM} }

// signalWords names a signal for a person.
func signalWords(s os.Signal) string {
	if s == os.Interrupt {
		return "Ctrl-C"
	}
	return "the system's signal to end"
}
