package report

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
	"time"
)

// The report prints through an installed Chromium, on the paper that is asked for, and leaves the PDF and nothing else.
func TestTheReportIsPrinted(t *testing.T) {
	exe, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("TRUEUP_CI") == "1" {
			t.Fatal("chromium is not installed")
		}
		t.Skip("chromium is not installed: nothing is printed")
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "a wall, 100 %.pdf")
	if err := WritePDF(t.Context(), exe, wallOf(60, 10, 7), Extras{Paper: A4, Cautions: "Light can hurt."}, file); err != nil {
		t.Fatal(err)
	}
	pdf, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	boxes := regexp.MustCompile(`/MediaBox \[0 0 (\d+)\S* (\d+)`).FindAllSubmatch(pdf, -1)
	if len(boxes) == 0 {
		t.Fatal("no page in the PDF")
	}
	for _, b := range boxes {
		if w, h := string(b[1]), string(b[2]); w != "594" && w != "595" || h != "841" && h != "842" { // 210 x 297 mm in points
			t.Errorf("a page of %s x %s points is not A4", w, h)
		}
	}
	if left, _ := os.ReadDir(dir); len(left) != 1 {
		t.Errorf("left behind: %v", left)
	}
}

// A browser that fails, prints nothing or hangs says so and what to do instead; the PDF of before stays.
func TestABrowserThatDoesNotPrint(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("the browsers that fail are shell scripts")
	}
	for name, c := range map[string]struct{ script, want string }{
		"fails":  {"echo first; echo 'no \x1b[31mdisplay' >&2; exit 3", `no \u001b[31mdisplay`},
		"silent": {"exit 0", "it said nothing"},
		"hangs":  {`: >"$0.begun"; exec sleep 600`, "patience is over"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			exe, file := filepath.Join(dir, "browser"), filepath.Join(dir, "r.pdf")
			if err := errors.Join(os.WriteFile(exe, []byte("#!/bin/sh\n"+c.script+"\n"), 0o755), os.WriteFile(file, []byte("before"), 0o644)); err != nil {
				t.Fatal(err)
			}
			ctx := t.Context()
			if name == "hangs" {
				over, cancel := context.WithCancelCause(ctx)
				ctx = over
				go func() {
					for over.Err() == nil {
						if os.Remove(exe+".begun") == nil {
							cancel(errors.New("patience is over"))
						}
						time.Sleep(time.Millisecond)
					}
				}()
			}
			err := WritePDF(ctx, exe, wallOf(2, 2), Extras{Paper: A4}, file)
			if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "open report.html in any browser") {
				t.Errorf("said %v", err)
			}
			if was, _ := os.ReadFile(file); string(was) != "before" {
				t.Errorf("the earlier PDF is now %q", was)
			}
			if left, _ := os.ReadDir(dir); len(left) != 2 {
				t.Errorf("left behind: %v", left)
			}
		})
	}
	if _, err := Browser(filepath.Join(t.TempDir(), "nothing")); err == nil || !strings.Contains(err.Error(), "install one, or say where it is with --browser") {
		t.Errorf("said %v", err)
	}
}
