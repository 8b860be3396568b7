package main

import (
	"bytes"
	"fmt"
	"path/filepath"

	"github.com/google/renameio/v2/maybe"

	"trueup/cmd/trueup/report"
	"trueup/loop/session"
	"trueup/profiles/userfile"
	"trueup/safety"
)

// writeUp makes the report and the settings sheet from a run's journal, and
// nothing else.
func writeUp(dir, journalPath string) (*result, error) {
	res := &result{dir: dir}
	f, err := userfile.Open(journalPath, userfile.Journal)
	if err != nil {
		return res, err
	}
	defer f.Close()
	s, err := session.ReadSummary(f)
	if err != nil {
		return res, err
	}
	res.summary = s
	rows := report.Sheet(s)
	for name, write := range map[string]func(*bytes.Buffer) error{
		"report.html":   func(b *bytes.Buffer) error { return report.WritePage(b, s, safety.Cautions) },
		"settings.csv":  func(b *bytes.Buffer) error { return report.WriteSheetCSV(b, rows) },
		"settings.json": func(b *bytes.Buffer) error { return report.WriteSheetJSON(b, s, rows) },
	} {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			return res, fmt.Errorf("%s: %w", name, err)
		}
		if err := maybe.WriteFile(filepath.Join(dir, name), b.Bytes(), 0o644); err != nil {
			return res, fmt.Errorf("%s: %w", name, err)
		}
	}
	return res, nil
}
