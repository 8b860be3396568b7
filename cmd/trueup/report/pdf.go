package report

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"trueup/loop/session"
	"trueup/profiles/printable"
)

// browserNames are what an installed Chromium is called on different systems.
var browserNames = []string{"chromium", "chromium-browser", "chrome"}

const byHandInstead = "open report.html in any browser and print it"

// Browser finds the Chromium that prints: the one that a person names, else one on the path.
func Browser(said string) (string, error) {
	names := browserNames
	if said != "" {
		names = []string{said}
	}
	for _, n := range names {
		if exe, err := exec.LookPath(n); err == nil {
			return exe, nil
		}
	}
	return "", fmt.Errorf("to make the PDF a Chromium is needed, and no program %s is found: install one, or say where it is with --browser; or %s",
		strings.Join(names, ", "), byHandInstead)
}

// WritePDF has a browser print the report of a run to a file, until ctx ends. Nothing is left beside it, and a PDF that
// was there stays until the new one is whole.
func WritePDF(ctx context.Context, exe string, s *session.Summary, x Extras, file string) (err error) {
	var page bytes.Buffer
	if err := WritePage(&page, s, x); err != nil {
		return err
	}
	// Beside the result: a browser that is kept in a box of its own may see a person's folders and no others.
	dir, err := filepath.Abs(filepath.Dir(file))
	if err != nil {
		return err
	}
	if dir, err = os.MkdirTemp(dir, "pdf-"); err != nil {
		return fmt.Errorf("the PDF can not be written where it is asked for: %w", err)
	}
	defer func() { err = errors.Join(err, removeAll(dir)) }()
	from, to := filepath.Join(dir, "report.html"), filepath.Join(dir, "report.pdf")
	if err := os.WriteFile(from, page.Bytes(), 0o644); err != nil {
		return err
	}
	if err := printPage(ctx, exe, dir, from, to); err != nil {
		return err
	}
	return os.Rename(to, file)
}

// printPage runs the browser without a window, with a profile of its own in dir: one that is open already is left alone.
func printPage(ctx context.Context, exe, dir, from, to string) error {
	path := filepath.ToSlash(from)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path // a drive letter
	}
	// The page has no scripts and brings all it shows: the browser is given no network.
	args := []string{"--headless", "--disable-gpu", "--no-first-run", "--no-default-browser-check", "--user-data-dir=" + filepath.Join(dir, "profile"),
		"--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-extensions", "--host-resolver-rules=MAP * ~NOTFOUND",
		"--no-pdf-header-footer", "--print-to-pdf=" + to}
	if os.Geteuid() == 0 {
		args = append(args, "--no-sandbox") // which Chromium can not have when root starts it
	}
	cmd := exec.CommandContext(ctx, exe, append(args, (&url.URL{Scheme: "file", Path: path}).String())...)
	cmd.WaitDelay = 2 * time.Second
	said, err := cmd.CombinedOutput()
	switch info, serr := os.Stat(to); {
	case ctx.Err() != nil:
		return fmt.Errorf("%s was ended before it had printed the report (%w); %s", exe, context.Cause(ctx), byHandInstead)
	case err != nil || serr != nil || info.Size() == 0:
		return fmt.Errorf("%s did not print the report (%s); %s", exe, lastWords(said, err), byHandInstead)
	}
	return nil
}

// lastWords are the last line that a program said, else how it ended.
func lastWords(said []byte, err error) string {
	lines := strings.Split(strings.TrimSpace(string(said)), "\n")
	if last := strings.TrimSpace(lines[len(lines)-1]); last != "" {
		return printable.Text(last)
	}
	if err != nil {
		return err.Error()
	}
	return "it said nothing"
}

// removeAll removes a folder that a browser may still be writing its last files to while it ends.
func removeAll(dir string) (err error) {
	for range 20 {
		if err = os.RemoveAll(dir); err == nil {
			return nil
		}
		time.Sleep(100 * time.Millisecond)
	}
	return err
}
