package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"github.com/google/renameio/v2/maybe"

	"trueup/cmd/trueup/report"
	"trueup/loop/session"
)

// writeUp makes the report and the settings sheet of a run, and nothing else. One that
// can not be written does not stop the others.
func writeUp(dir string, s *session.Summary) error { return writeUpWith(dir, s, extrasOf(dir, s)) }

// writeUpWith is writeUp, where what the report tells beside the run is known already.
func writeUpWith(dir string, s *session.Summary, x report.Extras) error {
	rows := report.Sheet(s)
	var errs []error
	for _, out := range []struct {
		name  string
		write func(*bytes.Buffer) error
	}{
		{"report.html", func(b *bytes.Buffer) error { return report.WritePage(b, s, x) }},
		{"settings.csv", func(b *bytes.Buffer) error { return report.WriteSheetCSV(b, rows) }},
		{"settings.json", func(b *bytes.Buffer) error { return report.WriteSheetJSON(b, s, rows) }},
	} {
		var b bytes.Buffer
		err := out.write(&b)
		if err == nil {
			err = maybe.WriteFile(filepath.Join(dir, out.name), b.Bytes(), 0o644)
		}
		var at *fs.PathError
		switch {
		case errors.As(err, &at): // its path is that of a file of the moment, which nobody can find
			errs = append(errs, &fs.PathError{Op: at.Op, Path: filepath.Join(dir, out.name), Err: at.Err})
		case err != nil:
			errs = append(errs, fmt.Errorf("%s: %w", out.name, err))
		}
	}
	return errors.Join(errs...)
}
