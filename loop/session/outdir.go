package session

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"

	"trueup/loop/session/core"
)

// MakeOutDir makes the folder of a run below root: date and rig name, with a
// number behind it when that run is not the first of its minute. An existing
// folder is never used again.
func MakeOutDir(root, rigName string, now time.Time) (string, error) {
	base := filepath.Join(root, now.Format("2006-01-02-1504")+"-"+fileName(rigName))
	if err := os.MkdirAll(root, 0o755); err != nil {
		return "", fmt.Errorf("output folder: %w", err)
	}
	for n := 1; n < 1000; n++ {
		dir := base
		if n > 1 {
			dir = fmt.Sprintf("%s-%d", base, n)
		}
		err := os.Mkdir(dir, 0o755)
		if err == nil {
			return dir, nil
		}
		if !os.IsExist(err) {
			return "", fmt.Errorf("output folder: %w", err)
		}
	}
	return "", fmt.Errorf("output folder: %s and 999 more exist already; move old runs away", base)
}

// fileName keeps the letters and digits of a name, lower case, and puts a
// hyphen for anything else, so that no rig name can lead out of the folder.
func fileName(name string) string {
	var b strings.Builder
	hyphen := false
	for _, r := range strings.ToLower(name) {
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			if hyphen && b.Len() > 0 {
				b.WriteByte('-')
			}
			hyphen = false
			b.WriteRune(r)
		default:
			hyphen = true
		}
		if b.Len() > 48 {
			break
		}
	}
	if b.Len() == 0 {
		return "rig"
	}
	return b.String()
}

// NewestRun finds the newest folder of a rig's runs below root that holds the
// journal of a match; a complete run goes before a newer one that was cut short, whose
// lamps never got their second visit.
func NewestRun(root, rigName string) (string, error) {
	return newest(root, rigName, core.Match, func(f FixtureSummary) bool { return f.Outcome != nil }, "match it first, or name a folder with --run")
}

// NewestSurvey finds the newest folder of a rig's runs below root that holds the journal of
// a survey; a complete one goes before a newer one that was cut short.
func NewestSurvey(root, rigName string) (string, error) {
	return newest(root, rigName, core.Survey, func(f FixtureSummary) bool { return f.Found != nil }, "survey it first with --live, or name a folder with --run")
}

// newest finds the newest complete run of a kind, else the newest that holds a fixture as wanted.
func newest(root, rigName string, work core.Work, has func(FixtureSummary) bool, remedy string) (string, error) {
	entries, err := os.ReadDir(root)
	if err != nil && !errors.Is(err, fs.ErrNotExist) { // where nothing has run yet there is no folder
		return "", fmt.Errorf("earlier runs: %w", err)
	}
	cut := ""
	for _, e := range slices.Backward(entries) {
		dir := filepath.Join(root, e.Name())
		s, err := summaryOf(filepath.Join(dir, JournalName))
		if err != nil || s.Info.Rig != rigName || s.Info.Work != string(work) {
			continue
		}
		if s.Complete {
			return dir, nil
		}
		if cut == "" && slices.ContainsFunc(s.Fixtures, has) {
			cut = dir
		}
	}
	if cut != "" {
		return cut, nil
	}
	return "", fmt.Errorf("earlier runs: no %s of the rig %q in %s; %s", work, rigName, root, remedy)
}
