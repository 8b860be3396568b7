package main

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// mostMemory of the program while it reads any single file, in kB. It takes a
// quarter of it at rest.
const mostMemory = 64 << 10

// A hostile file, and the commands that are given it.
type hostileFile struct {
	name string
	make func(path string) error
	args [][]string // FILE stands for its name
	says string     // in the error
}

func text(s string) func(string) error {
	return func(path string) error { return os.WriteFile(path, []byte(s), 0o644) }
}

func many(s string, bytes int) string { return strings.Repeat(s, bytes/len(s)) }

// fixture is a GDTF file with this description.
func fixture(description string) func(string) error {
	return func(path string) error {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		w, err := z.Create("description.xml")
		if err == nil {
			_, err = io.WriteString(w, description)
		}
		if err := errors.Join(err, z.Close()); err != nil {
			return err
		}
		return os.WriteFile(path, b.Bytes(), 0o644)
	}
}

func sparse(size int64) func(string) error {
	return func(path string) error {
		if err := os.WriteFile(path, nil, 0o644); err != nil {
			return err
		}
		return os.Truncate(path, size)
	}
}

// Every command that takes a file of its own.
var (
	yamlCommands = [][]string{{"profile", "check", "FILE"}, {"check", "FILE"}, {"feed", "try", "FILE"}, {"read", "FILE"}, {"feed", "check", "FILE"},
		{"gel", "--from", "5600K", "--to", "3200K", "--list", "FILE"}, {"stage", "RIG", "--stage", "FILE"}, {"feed", "try", "--config", "FILE"}}
	otherCommands = [][]string{{"color", "--spectrum", "FILE"}, {"color", "--spectrum", "good.csv", "--ssi", "FILE"}, {"gel", "--spectrum", "FILE", "--to", "3200K"},
		{"feed", "replay", "FILE"}, {"feed", "replay", "FILE", "--listen", "127.0.0.1:0"}, {"feed", "try", "--from", "FILE"},
		{"rig", "import", "FILE", "--map", "name=name,address=address"}, {"profile", "draft", "FILE"}}
	allCommands = append(append([][]string{}, yamlCommands...), otherCommands...)
	oneYAML     = yamlCommands[:1]
)

func keys(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "k%d: 1\n", i)
	}
	return b.String()
}

func nineToTheNine() string {
	s := "a: &a [x,x,x,x,x,x,x,x,x]\n"
	for c := 'b'; c <= 'j'; c++ {
		s += fmt.Sprintf("%c: &%c [%s]\n", c, c, strings.TrimSuffix(strings.Repeat(fmt.Sprintf("*%c,", c-1), 9), ","))
	}
	return s + "fixtures: {<<: *j}\n"
}

const most = 256<<10 - 100

// hostileFiles is a function, so that the program under test, which is this one,
// does not hold them too.
func hostileFiles() []hostileFile {
	return []hostileFile{
		{"zero", func(p string) error { return os.Symlink("/dev/zero", p) }, allCommands, "is a device"},
		{"pipe", func(p string) error { return syscall.Mkfifo(p, 0o600) }, allCommands, "is a named pipe"},
		{"large", sparse(100 << 20), otherCommands, "is too large"},
		{"folder", func(p string) error { return os.Mkdir(p, 0o755) }, oneYAML, "is a folder"},
		{"brackets", text(many("[", 50_000)), yamlCommands, ""},
		{"merge keys", text(nineToTheNine()), yamlCommands, ""},
		{"more brackets", text(many("[", most)), oneYAML, "too long"},
		{"braces", text(many("{", most)), oneYAML, "too long"},
		{"keys in a line", text(many("a: ", most)), oneYAML, "too long"},
		{"keys without values", text(many("a:\n", most)), oneYAML, "too long"},
		{"keys", text(keys(13_000)), oneYAML, "more than 4000 keys"},
		{"dashes", text("a:\n" + many("-\n", most)), oneYAML, "too long"},
		{"dashes, just few enough", text("a:\n" + strings.Repeat("-\n", 39_000)), oneYAML, ""},
		{"items, just few enough", text("a: [" + strings.Repeat("1,", 19_000) + "]\n"), oneYAML, ""},
		{"anchors", text("a: " + many("&a ", most)), oneYAML, "too long"},
		{"aliases", text("a: " + many("*a ", most)), oneYAML, "too long"},
		{"tags", text("a: " + many("!a ", most)), oneYAML, "too long"},
		{"quotes", text("a: [" + many(`"" `, most)), oneYAML, "too long"},
		{"comments", text(many("#\n", most)), oneYAML, "too long"},
		{"documents", text(many("---\n", most)), oneYAML, "too long"},
		{"empty lines", text(many("\n", most)), oneYAML, ""},
		{"words", text(many("a\n", most)), oneYAML, ""},
		{"one word", text("rig: " + many("a", most)), oneYAML, ""},
		{"wide spectrum", text("nm" + many(",a", 510) + "\n" + many("380"+many(",1", 510)+"\n", 1_000_000)), otherCommands[:1], ""},
		{"commas", text(many(",", 1_000_000)), otherCommands[:1], ""},
		{"elements", text(many("<a>", 1_000_000)), otherCommands[:1], ""},
		{"short lines", text(many(`{"to":""}`+"\n", 4_000_000)), otherCommands[3:4], "more than 40000 lines"},
		{"one line", text(`{"from":"` + many("x", 4_000_000) + `"}`), otherCommands[3:4], "too long"},
		{"columns", text("name,address\n" + many(",", most)), otherCommands[6:7], ""},
		{"a fixture of many elements", fixture("<GDTF>" + strings.Repeat(`<a b="1"/>`, 800_000)), otherCommands[7:], "elements"},
		{"a fixture of many attributes", fixture("<GDTF>" + strings.Repeat(`<a c="1" d="1" e="1" f="1" g="1" h="1"/>`, 200_000)), otherCommands[7:], "attributes"},
		{"a fixture of one text", fixture("<GDTF>" + many("x", 8_000_000) + "</GDTF>"), otherCommands[7:], ""},
		{"a fixture that unpacks without end", fixture("<GDTF>" + many("x", 100<<20)), otherCommands[7:], "unpacks to more"},
		{"rows", text("name,address\n" + many("a,9/9999\n", most)), otherCommands[6:7], "stands already"},
	}
}

// No single file, whatever it is, takes the machine's memory or hangs the
// program.
func TestHostileFiles(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector takes the memory")
	}
	exe, err := exec.LookPath("peak")
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range hostileFiles() {
		t.Run(h.name, func(t *testing.T) {
			dir := t.TempDir()
			if err := h.make(filepath.Join(dir, "FILE")); err != nil {
				t.Fatal(err)
			}
			for name, s := range map[string]string{
				"good.csv": "nm,a\n380,1\n480,1\n580,1\n680,1\n780,1\n",
				"RIG":      "rig: r\ntarget: {color: 4300 K}\noutput: {mode: own, unicast: [\"127.0.0.1:5568\"]}\nfixtures:\n  - {name: a, profile: " + filepath.ToSlash(moduleRoot(t)) + "/examples/profiles/wiffelmoor-wash-8.yaml, address: 1/1}\n",
			} {
				if err := text(s)(filepath.Join(dir, name)); err != nil {
					t.Fatal(err)
				}
			}
			for _, args := range h.args {
				if says := h.says; says == "is too large" && args[0] == "profile" && args[1] == "draft" {
					hostileRun(t, exe, dir, args, "not a GDTF archive") // archives may be large
				} else {
					hostileRun(t, exe, dir, args, says)
				}
			}
		})
	}
}

var peak = regexp.MustCompile(`peak (\d+) kB\n$`)

func hostileRun(t *testing.T, exe, dir string, args []string, says string) {
	t.Helper()
	memory, out, err := runMeasured(t, exe, dir, args)
	what := "trueup " + strings.Join(args, " ")
	if memory > mostMemory {
		t.Errorf("%s takes %d kB, more than %d", what, memory, mostMemory)
	}
	if len(out) > 1<<20 || strings.Contains(out, "goroutine ") {
		t.Errorf("%s says %d bytes: %.2000s", what, len(out), out)
	}
	if says != "" && (err == nil || !strings.Contains(out, says)) {
		t.Errorf("%s does not say %q: %v, %.500s", what, says, err, out)
	}
}

func runMeasured(t *testing.T, exe, dir string, args []string) (memory int, said string, failed error) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), longWait)
	defer cancel()
	cmd := exec.CommandContext(ctx, exe, args...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir)
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	failed = cmd.Run()
	if ctx.Err() != nil {
		t.Fatalf("trueup %q hangs", args)
	}
	told := peak.FindSubmatch(out.Bytes())
	if told == nil {
		t.Fatalf("trueup %q: no figure of its memory: %.500s", args, out.String())
	}
	memory, _ = strconv.Atoi(string(told[1]))
	t.Logf("trueup %q: %d kB, %v of processor time, %v", args, memory, cmd.ProcessState.UserTime()+cmd.ProcessState.SystemTime(), cmd.ProcessState)
	return memory, out.String(), failed
}

// Ctrl-C ends a feed that is read from a pipe.
func TestAFeedFromAPipeEndsWithCtrlC(t *testing.T) {
	exe, err := exec.LookPath("trueup")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	pipe := filepath.Join(dir, "pipe")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), exe, "feed", "try", "--kind", "file", "--address", pipe)
	cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	w, err := os.OpenFile(pipe, os.O_WRONLY, 0) // waits for the program to open it
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	fmt.Fprintln(w, `{"x":0.3127,"y":0.3290}`)
	seen := ""
	buf := make([]byte, 4096)
	for !strings.Contains(seen, "= x 0.3127") {
		n, err := out.Read(buf)
		seen += string(buf[:n])
		if err != nil {
			t.Fatalf("a line in the pipe became no reading: %s (%v)", seen, err)
		}
	}
	cmd.Process.Signal(os.Interrupt)
	done := make(chan error, 1)
	go func() { done <- cmd.Wait() }()
	select {
	case <-done:
	case <-time.After(longWait):
		cmd.Process.Kill()
		t.Fatal("Ctrl-C did not end it")
	}
}
