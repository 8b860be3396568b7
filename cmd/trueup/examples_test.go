package main

import (
	"bufio"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

// exampleCopy copies the example files, so that a run may write beside them.
func exampleCopy(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(filepath.Join(moduleRoot(t), "examples"))); err != nil {
		t.Fatal(err)
	}
	return dir
}

// program is the trueup of this test binary, with a machine of its own.
func program(ctx context.Context, dir string, args ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, "trueup", args...)
	c.Dir = dir
	c.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir+"/config")
	c.Cancel = func() error { return c.Process.Signal(os.Interrupt) }
	c.WaitDelay = 10 * time.Second
	return c
}

// edit replaces what a pattern finds in a file, which must be there.
func edit(t *testing.T, path string, pairs ...string) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(pairs); i += 2 {
		re := regexp.MustCompile(pairs[i])
		if !re.Match(text) {
			t.Fatalf("%s has no %s", path, pairs[i])
		}
		text = re.ReplaceAll(text, []byte(pairs[i+1]))
	}
	if err := os.WriteFile(path, text, 0o644); err != nil {
		t.Fatal(err)
	}
}

// Every example rig can be rehearsed as it stands: nothing is sent.
func TestAnExampleRigIsRehearsed(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), longWait)
	defer cancel()
	dir := exampleCopy(t)
	out, err := program(ctx, dir, "match", "interview/rig.yaml").CombinedOutput()
	if err != nil || !strings.Contains(string(out), "no light was changed") {
		t.Errorf("%v\n%s", err, out)
	}
	if _, err := os.Stat(filepath.Join(dir, "trueup-out")); err == nil {
		t.Error("a rehearsal left a run behind")
	}
}

// On the simulated stage that stands beside it, every example rig is matched:
// the lamps on the network land, but for one at the most, which may honestly not. The theatre has a desk, and the stage has none,
// so there the universes are ours, without house light in them; everything else
// is as the files say.
func TestExampleRigsLand(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") != "1" {
		t.Skip("minutes of real time; set TRUEUP_LONG=1")
	}
	t.Parallel()
	for _, c := range []struct {
		name   string
		landed int
		edits  []string
	}{
		{"theatre-cyc", 11, []string{`mode: overlay`, `mode: own`, `(?m)^  locked:.*$`, ``, `(?m)^  # priority is left out.*$`, `  unicast: ["SACN"]`, `127\.0\.0\.1:7311`, `METER`}},
		{"led-wall", 12, []string{`127\.0\.0\.1:5568`, `SACN`, `127\.0\.0\.1:7311`, `METER`}},
		{"interview", 1, []string{`127\.0\.0\.1:5568`, `SACN`, `kind: hand`, `kind: tcp, address: "METER"`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			ctx, cancel := context.WithTimeout(t.Context(), 15*time.Minute)
			defer cancel()
			dir := exampleCopy(t)
			path := c.name + "/rig.yaml"
			sacn, meter := standStage(ctx, t, dir, path)
			edit(t, filepath.Join(dir, path), append(c.edits, "SACN", sacn, "METER", meter)...)
			cmd := program(ctx, dir, "match", path, "--live", "--yes")
			out, err := cmd.CombinedOutput()
			if n := landedIn(string(out)); n < c.landed-1 || n == c.landed && err != nil || n < c.landed && cmd.ProcessState.ExitCode() != exitNotAll {
				t.Errorf("%v, %d landed\n%s", err, n, out)
			}
		})
	}
}

// landedIn is how many lamps a run says that have landed; -1 where it does not say.
func landedIn(said string) int {
	m := regexp.MustCompile(`: (\d+) landed`).FindStringSubmatch(said)
	if m == nil {
		return -1
	}
	n, _ := strconv.Atoi(m[1])
	return n
}

// A lamp whose manual gives no curve is probed on the demo's stage: the stage
// file says that its light follows an S.
func TestALampIsProbedOnTheStage(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") != "1" {
		t.Skip("half a minute of real time; set TRUEUP_LONG=1")
	}
	t.Parallel()
	ctx, cancel := context.WithTimeout(t.Context(), longWait)
	defer cancel()
	dir := exampleCopy(t)
	sacn, meter := standStage(ctx, t, dir, "demo/rig.yaml")
	edit(t, filepath.Join(dir, "demo/rig.yaml"), `127\.0\.0\.1:5568`, sacn, `127\.0\.0\.1:7311`, meter)
	out, err := program(ctx, dir, "profile", "probe", "demo/rig.yaml", "cyc", "--live", "--yes").CombinedOutput()
	if n := strings.Count(string(out), "curve: s}"); err != nil || n < 5 {
		t.Errorf("%v; %d of 6 emitters follow an S\n%s", err, n, out)
	}
}

// standStage starts the simulated stage of a rig on free ports, for as long as
// ctx lasts, and gives its addresses.
func standStage(ctx context.Context, t *testing.T, dir, rig string) (sacn, meter string) {
	t.Helper()
	stage := program(ctx, dir, "stage", rig, "--sacn", "127.0.0.1:0", "--meter", "127.0.0.1:0", "--json")
	pipe, err := stage.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	stage.Stderr = os.Stderr
	if err := stage.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = stage.Process.Signal(os.Interrupt)
		_ = stage.Wait()
	})
	lines := bufio.NewScanner(pipe)
	if !lines.Scan() {
		t.Fatal("the stage says nothing")
	}
	var at struct{ Sacn, Meter string }
	if err := json.Unmarshal(lines.Bytes(), &at); err != nil {
		t.Fatalf("%v: %s", err, lines.Text())
	}
	if at.Sacn == "" || at.Meter == "" {
		t.Fatalf("no addresses in %s", lines.Text())
	}
	go func() {
		for lines.Scan() { // ends with the process
		}
	}()
	return at.Sacn, at.Meter
}
