package main

import (
	"bytes"
	"os"
	"path/filepath"
	"time"
)

// longWait is how long a test on real sockets waits for something that is sure to come, however busy the machine.
const longWait = 4 * time.Minute

// waitRead waits until the journal holds so many readings of a lamp. How a run goes is written out once a second
// at most, so a line of it may never come; the journal is on disk before the next step.
func (p *processRun) waitRead(lamp string, readings int) {
	p.t.Helper()
	timeout, again := time.After(longWait), time.NewTicker(20*time.Millisecond)
	defer again.Stop()
	for {
		if p.read(lamp) >= readings {
			return
		}
		select {
		case line, ok := <-p.lines:
			if !ok {
				p.t.Fatalf("the program ended before it had read %s %d times:\n%s", lamp, readings, p.text.String())
			}
			p.text.WriteString(line + "\n")
		case <-again.C: // of real time: another process writes it
		case <-timeout:
			p.t.Fatalf("%s was not read %d times within %v:\n%s", lamp, readings, longWait, p.text.String())
		}
	}
}

// read is how many readings of a lamp the newest journal holds.
func (p *processRun) read(lamp string) (n int) {
	found, _ := filepath.Glob(filepath.Join(p.out, "*", "journal.jsonl"))
	if len(found) == 0 {
		return 0
	}
	text, err := os.ReadFile(found[len(found)-1])
	if err != nil {
		return 0
	}
	for line := range bytes.Lines(text) {
		if bytes.HasSuffix(line, []byte("\n")) && bytes.Contains(line, []byte(`"fixture":"`+lamp+`"`)) &&
			(bytes.Contains(line, []byte(`"kind":"found"`)) || bytes.Contains(line, []byte(`"kind":"reading"`))) {
			n++
		}
	}
	return n
}

// through tells whether a run went on to its end, with a verdict for every lamp. That they land is asked in virtual
// time, of many: a single lamp may honestly not.
func (p *processRun) through(code int) bool {
	p.t.Helper()
	return code == exitLanded || code == exitNotAll && p.summary().Complete
}
