package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"
)

// In a terminal the display stays in place while a person types: lights are
// kept and compared, and what is half typed is not wiped out.
func TestReadInATerminal(t *testing.T) {
	addr, next := twoProbes(t)
	master, slave := openPTY(t)
	resize(t, slave, 120)
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe, "read", "--address", addr)
	cmd.Args[0] = "trueup"
	dir := t.TempDir()
	cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = slave, slave, slave
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	slave.Close()
	defer time.AfterFunc(longWait, func() { cmd.Process.Kill() }).Stop()
	var said bytes.Buffer
	b := make([]byte, 4096)
	hear := func(what string) {
		t.Helper()
		for !strings.Contains(said.String(), what) {
			n, err := master.Read(b)
			if err != nil {
				t.Fatalf("never showed %q: %v\n%s", what, err, said.String())
			}
			said.Write(b[:n])
		}
		said.Reset()
	}
	hear("x 0.6400")
	io.WriteString(master, "keep red\n")
	hear("red kept")
	next()
	hear("x 0.3000")
	io.WriteString(master, "keep gre") // half typed while the display goes on
	hear("to red")
	hear("spread")
	io.WriteString(master, "en\n")
	hear("green kept")
	io.WriteString(master, "quit\n")
	for err == nil {
		_, err = master.Read(b)
	}
	if err := cmd.Wait(); err != nil {
		t.Errorf("quit ended with %v", err)
	}
}
