package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// A release that two people make from one commit, each in a folder of their own and
// one of them with an empty build cache, is the same to the byte: anybody can check
// that the program which is passed on is made of this source.
func TestReleasesAreReproducible(t *testing.T) {
	switch {
	case os.Getenv("TRUEUP_LONG") != "1":
		t.Skip("builds the program from nothing; set TRUEUP_LONG=1")
	case runtime.GOOS != "linux":
		t.Skip("the release script is written for Linux")
	}
	t.Parallel()
	root := moduleRoot(t)
	if len(tool(t, root, nil, "git", "status", "--porcelain")) > 0 {
		t.Skip("the tree has changes, and a release is made from a commit")
	}
	var sums []string
	for name, cache := range map[string][]string{"one": {"GOCACHE=" + t.TempDir()}, "another/longer folder": nil} {
		dir := filepath.Join(t.TempDir(), name)
		tool(t, root, nil, "git", "clone", "-q", root, dir)
		sums = append(sums, tool(t, dir, append(cache, "PWD="+dir), filepath.Join(dir, ".ci", "release"), filepath.Join(dir, "..", "out"), "linux/amd64"))
	}
	if sums[0] != sums[1] || !strings.Contains(sums[0], "linux-amd64.tar.gz") {
		t.Errorf("two releases of one commit differ:\n%s%s", sums[0], sums[1])
	}
}

// The version of a tagged build is its tag; what the go command makes up without
// one is not shown.
func TestTheVersionIsThatOfTheBuild(t *testing.T) {
	for module, want := range map[string]string{
		"v1.2.3": "1.2.3", "v1.2.3+dirty": "1.2.3+dirty", "v1.2.0-rc.1": "1.2.0-rc.1",
		"": workingTowards, "(devel)": workingTowards, "v0.0.0-20261126034200-0123456789ab+dirty": workingTowards,
		"v1.2.4-0.20261126034200-0123456789ab": workingTowards,
	} {
		if got := versionOf(module); got != want {
			t.Errorf("%q: version %q, want %q", module, got, want)
		}
	}
}

// Every command that help shows has a manual page, which groff reads without a
// word and which ends with nothing of its help lost.
func TestEveryCommandHasAManualPage(t *testing.T) {
	dir := t.TempDir()
	var out bytes.Buffer
	if code := run([]string{"manpages", dir}, nil, &out, &out); code != exitLanded {
		t.Fatal(out.String())
	}
	groff, err := exec.LookPath("groff")
	if err != nil && os.Getenv("TRUEUP_CI") == "1" {
		t.Error("groff is not installed")
	} else if err != nil {
		t.Log("groff is not installed: that it reads the pages is not tested")
	}
	var pages []string
	help := map[string]string{}
	var each func(c *cobra.Command)
	each = func(c *cobra.Command) {
		page := filepath.Join(dir, manName(c)+".1")
		if _, err := os.Stat(page); err != nil {
			t.Error(err)
		}
		pages = append(pages, page)
		help[page] = c.Long
		for _, sub := range c.Commands() {
			if sub.IsAvailableCommand() && sub.Name() != "completion" {
				each(sub)
			}
		}
	}
	each(newRoot())
	if groff == "" || t.Failed() {
		return
	}
	cmd := exec.Command(groff, append([]string{"-man", "-Tutf8", "-Kutf8", "-ww", "-rLL=300n", "-P-c"}, pages...)...)
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	text, err := cmd.Output()
	if err != nil || complaints.Len() > 0 {
		t.Errorf("%v %s", err, complaints.String())
	}
	flat := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	all := flat(string(text))
	for page, long := range help {
		for line := range strings.Lines(long) {
			if !strings.Contains(all, flat(line)) {
				t.Errorf("%s: %q is lost", page, line)
			}
		}
	}
}
