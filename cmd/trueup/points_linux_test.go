package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A matched look is lit as a whole and read at the points to which a person takes the meter, who says when it is there:
// every packet obeys the limits, and the report tells of the points.
func TestPointsOfAMatchedLookAreRead(t *testing.T) {
	p := startProcesses(t)
	if code := p.end(); !p.through(code) {
		t.Fatalf("match: exit code %d:\n%s", code, p.text.String())
	}
	p.wire.forget()
	master, slave := openPTY(t)
	cmd := exec.Command(p.exe, "verify", p.rig.Path, "--points", "2x1", "--probe", "mark", "--live", "--yes", "--out", p.out)
	cmd.Env = p.env
	cmd.Stdin, cmd.Stdout, cmd.Stderr = slave, slave, slave
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	slave.Close()
	timer := time.AfterFunc(90*time.Second, func() { cmd.Process.Kill() })
	defer timer.Stop()
	var shown bytes.Buffer
	done := make(chan struct{})
	go func() { // the person
		defer close(done)
		said := 0
		b := make([]byte, 1)
		for {
			if _, err := master.Read(b); err != nil {
				return
			}
			shown.Write(b)
			if n := strings.Count(shown.String(), "then type next and Enter"); b[0] == '\n' && n > said {
				said = n
				io.WriteString(master, "next\n")
			}
		}
	}()
	cmd.Wait()
	<-done
	text := shown.String()
	if code := cmd.ProcessState.ExitCode(); code != exitLanded && code != exitNotAll { // in real time the lamps are cold again
		t.Fatalf("exit code %d:\n%s", code, text)
	}
	if !strings.Contains(text, "Of 2 points of the lit surface 2 were read.") {
		t.Errorf("it does not tell of the points:\n%s", text)
	}
	p.checkPackets(true)
	pages, _ := filepath.Glob(filepath.Join(p.out, "*", "report.html"))
	told := 0
	for _, path := range pages {
		page, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(page), "point by point") {
			told++
			if strings.Contains(string(page), "not matched") || !strings.Contains(string(page), "column 2, row 1") || !strings.Contains(string(page), "<h2>Cautions</h2>") {
				t.Errorf("%s: it is no report of points", path)
			}
		}
	}
	if told != 1 {
		t.Errorf("%d of %d reports tell of points", told, len(pages))
	}
}
