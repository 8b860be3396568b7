package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"

	"trueup/loop/session/rig"
	"trueup/profiles/mvr/mvrtest"
)

// Each of our plans becomes a rig that passes the offline part of check, which
// does all that a run does before it opens a socket.
func TestEveryPlanGivesARigThatPassesCheck(t *testing.T) {
	quietMachine(t)
	for name, entries := range mvrtest.Plans() {
		dir := t.TempDir()
		src, dst := filepath.Join(dir, name+".mvr"), filepath.Join(dir, "rig.yaml")
		if err := os.WriteFile(src, mvrtest.Pack(entries...), 0o644); err != nil {
			t.Fatal(err)
		}
		var out, errs bytes.Buffer
		if code := run([]string{"rig", "import", src, "-o", dst}, nil, &out, &errs); code != exitLanded {
			t.Errorf("%s: exit code %d: %s%s", name, code, out.String(), errs.String())
			continue
		}
		r, err := rig.Load(dst)
		if err == nil {
			err = checkPlan(r)
		}
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// An import that fails leaves nothing behind that it wrote.
func TestAFailedImportLeavesNothing(t *testing.T) {
	quietMachine(t)
	dir := t.TempDir()
	src := filepath.Join(dir, "nested.mvr")
	if err := os.WriteFile(src, mvrtest.Pack(mvrtest.Plans()["nested"]...), 0o644); err != nil {
		t.Fatal(err)
	}
	// The rig's own file can not be written: its folder is the profiles' file.
	if err := os.WriteFile(filepath.Join(dir, "profiles"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	var out, errs bytes.Buffer
	if code := run([]string{"rig", "import", src, "-o", filepath.Join(dir, "rig.yaml")}, nil, &out, &errs); code != exitNotAll {
		t.Errorf("exit code %d: %s", code, errs.String())
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 2 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// planWithMeshes writes a plan of 400 fixtures with 200 MB of meshes, and a GDTF
// file of 30 MB in it.
func planWithMeshes(t testing.TB, dir string) string {
	t.Helper()
	path := filepath.Join(dir, "large.mvr")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	entries := mvrtest.Plans()["large"]
	for i := range entries {
		if entries[i].Name == mvrtest.Wash {
			entries[i].Store = false
			entries[i].Data = mvrtest.Pack(mvrtest.Entry{Name: "models/body.3ds", Data: make([]byte, 30<<20), Store: true},
				mvrtest.Entry{Name: "description.xml", Data: []byte(mvrtest.Types()[mvrtest.Wash])})
		}
	}
	if err := mvrtest.WriteWithMeshes(f, 200<<20, entries...); err != nil {
		t.Fatal(err)
	}
	return path
}

// peakMemory is the program with its largest resident memory told at the end, in
// kB, as the kernel counts it. How much of the program's own file is mapped is the
// kernel's choice, differs between machines, and is left out.
func peakMemory() {
	code := run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	status, _ := os.ReadFile("/proc/self/status")
	kB := func(key string) (n int) {
		_, rest, _ := strings.Cut(string(status), "\n"+key+":")
		fmt.Sscan(rest, &n)
		return n
	}
	fmt.Fprintln(os.Stderr, "peak", kB("VmHWM")-kB("RssFile"), "kB")
	os.Exit(code)
}

// Meshes are never unpacked, nor read: 200 MB of them and a GDTF file of 30 MB
// cost less than 100 MB of memory.
func TestALargePlanTakesLittleMemory(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("the kernel's count of memory is read from /proc")
	}
	if b, ok := debug.ReadBuildInfo(); ok {
		for _, s := range b.Settings {
			if s.Key == "-race" && s.Value == "true" {
				t.Skip("the race detector's own memory is several times ours")
			}
		}
	}
	dir := t.TempDir()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe, "rig", "import", planWithMeshes(t, dir), "-o", filepath.Join(dir, "rig.yaml"))
	cmd.Args[0] = "peak"
	cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir)
	out, err := cmd.CombinedOutput()
	if err != nil || !strings.Contains(string(out), "400 fixtures, without faults") {
		t.Fatalf("%v\n%s", err, out)
	}
	kB := 0
	_, peak, _ := strings.Cut(string(out), "\npeak ")
	if _, err := fmt.Sscanf(peak, "%d kB", &kB); err != nil || kB == 0 || kB > 100_000 {
		t.Errorf("peak memory of %d kB, want at most 100 000\n%s", kB, out)
	}
	t.Logf("peak memory %d MB", kB/1000)
}

// A whole import: reading, drafting, writing, and the check of what was written.
func BenchmarkImportOf400With200MBOfMeshes(b *testing.B) {
	dir := b.TempDir()
	b.Setenv("HOME", dir)
	b.Setenv("XDG_CONFIG_HOME", dir)
	src := planWithMeshes(b, dir)
	n := 0
	for b.Loop() {
		n++
		var out bytes.Buffer
		to := filepath.Join(dir, fmt.Sprint(n), "rig.yaml")
		if err := os.Mkdir(filepath.Dir(to), 0o755); err != nil {
			b.Fatal(err)
		}
		if code := run([]string{"rig", "import", src, "-o", to}, nil, &out, &out); code != exitLanded {
			b.Fatal(out.String())
		}
	}
}
