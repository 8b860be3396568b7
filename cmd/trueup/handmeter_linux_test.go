package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"trueup/loop/feed"
)

var meterAt = regexp.MustCompile(`the meter at (\w+) shows \([^)]*\): $`)

// The lamps are on the network, the meter is not: a person walks with it, reads
// four digits off its display, and the lamps land all the same.
func TestHandMeterLandsNetworkLamps(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("needs several seconds of real time")
	}
	exe, err := exec.LookPath("trueup")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	env := append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+filepath.Join(dir, "config"))
	profiles := filepath.ToSlash(filepath.Join(moduleRoot(t), "examples", "profiles"))
	path := filepath.Join(dir, "rig.yaml")
	write := func(sacn string) {
		text := strings.Replace(fmt.Sprintf(smallRig, sacn, "", profiles), `{name: meter, kind: tcp, address: ""}`, `{name: hand meter, kind: hand}`, 1)
		text = strings.Replace(text, "fixtures:", "tolerance: 0.0015\nfixtures:", 1)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("127.0.0.1:5568")
	if err := os.WriteFile(filepath.Join(dir, "stage.yaml"), []byte("seed: 11\nmeter: {integration_ms: 80, period_ms: 100}\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	stage := exec.Command(exe, "stage", path, "--sacn", "127.0.0.1:0", "--meter", "127.0.0.1:0", "--truth=127.0.0.1:0", "--json")
	stage.Env = env
	st, err := startStageCommand(stage)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.stop)
	write(st.ready.SACN.String())
	// The display that the person looks at.
	display, err := feed.Open(t.Context(), feed.Config{Name: "display", Kind: "tcp", Address: st.ready.Meter})
	if err != nil {
		t.Fatal(err)
	}
	defer display.Close()
	shows := func(probe string) string {
		ctx, cancel := context.WithTimeout(t.Context(), longWait)
		defer cancel()
		r, err := display.NextAfter(ctx, probe, time.Now())
		if err != nil {
			t.Error(err)
			return ""
		}
		xy := r.UV.XY()
		return fmt.Sprintf("%.4f %.4f %.1f lx", xy.X, xy.Y, r.Y)
	}
	master, slave := openPTY(t)
	match := exec.Command(exe, "match", path, "--live", "--yes", "--out", filepath.Join(dir, "out"))
	match.Env = env
	match.Stdin, match.Stdout, match.Stderr = slave, slave, slave
	match.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := match.Start(); err != nil {
		t.Fatal(err)
	}
	slave.Close()
	defer time.AfterFunc(longWait, func() { match.Process.Kill() }).Stop()
	var said bytes.Buffer
	fresh := 0 // said up to here has been answered
	b := make([]byte, 4096)
	for {
		n, err := master.Read(b)
		if err != nil {
			break // the program has ended
		}
		said.Write(b[:n])
		tail := said.Bytes()[fresh:]
		answer := ""
		if m := meterAt.FindSubmatch(tail); m != nil {
			answer = shows(string(m[1]))
		} else if !bytes.HasSuffix(tail, []byte("or type it again: ")) {
			continue
		}
		fresh = said.Len()
		fmt.Fprintf(master, "%s\n", answer)
	}
	err = match.Wait()
	if code := match.ProcessState.ExitCode(); err != nil && code != exitNotAll {
		t.Fatalf("%v\n%s", err, said.String())
	}
	for _, m := range regexp.MustCompile(`(\w+): the meter at (\w+) shows \(([^)]*)\)`).FindAllStringSubmatch(said.String(), -1) {
		whose, where, skip := m[1], m[2], strings.Contains(m[3], "skip")
		if reference := where == "ref"; reference != (whose == "lamp") || reference == skip {
			t.Errorf("%q: at ref the lamp is read, which can not be left, elsewhere a wash, which can", m[0])
		}
	}
	if strings.Contains(said.String(), "\r\n  the meter at") {
		t.Errorf("some reading is of nobody:\n%s", said.String())
	}
	if n := landedIn(said.String()); n < 1 || n < 2 && err == nil { // one may honestly not
		t.Errorf("want both washes landed, or one and to be told:\n%s", said.String())
	}
}
