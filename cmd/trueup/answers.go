package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"os/signal"
)

// answers are the lines that a person types where nothing runs yet: at the questions that
// lead to a file, and at the one that comes before light moves.
type answers struct{ in *bufio.Reader }

// mostAnswers bounds what is read of a script that was mistaken for answers.
const mostAnswers = 1 << 20

func newAnswers(in io.Reader) answers {
	return answers{bufio.NewReader(io.LimitReader(in, mostAnswers))}
}

// line asks, and waits for a line, or for a signal that would end the program: that is an error which
// wraps errStopped. After it nothing may be read any more: a terminal can not be woken.
func (a answers) line(out io.Writer, question string) (string, error) {
	stop := make(chan os.Signal, 1)
	signal.Notify(stop, endSignals()...)
	defer signal.Stop(stop)
	fmt.Fprint(out, question)
	type typed struct {
		line string
		err  error
	}
	got := make(chan typed, 1)
	go func() { line, err := a.in.ReadString('\n'); got <- typed{line, err} }()
	select {
	case t := <-got:
		entered(out)
		return t.line, t.err
	case sig := <-stop:
		return "", fmt.Errorf("%w by %s", errStopped, signalWords(sig))
	}
}
