package spectrum

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// ReadCSV reads columns of numbers: the wavelength in nanometres first, then
// one or more spectra. Columns stand apart by comma, semicolon, tab or spaces;
// with semicolons or tabs a decimal comma is understood. Lines that are empty
// or begin with '#' are passed over; one line of names may come before the
// numbers. Wavelengths must rise. Errors name line and column.
func ReadCSV(r io.Reader) ([]File, error) {
	text, err := readAll(r)
	if err != nil {
		return nil, err
	}
	var t csvTable
	split := separator(text)
	n := 0
	for line := range strings.Lines(text) {
		n++
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		f := split(line)
		if len(f) > maxColumns {
			return nil, fmt.Errorf("spectrum: line %d: %d columns, want at most %d", n, len(f), maxColumns)
		}
		if _, err := strconv.ParseFloat(f[0], 64); err != nil && t.nm == nil && t.names == nil {
			t.names = f
			continue
		}
		if err := t.row(f); err != nil {
			return nil, fmt.Errorf("spectrum: line %d%w", n, err)
		}
	}
	return t.files()
}

// csvTable is what the lines so far have brought.
type csvTable struct {
	names []string    // of all columns, where a line of headings came first
	nm    []float64   // rising
	cols  [][]float64 // cols[k][i] belongs to nm[i]
}

// row takes one line: a wavelength above the last, and as many values as every
// line has. The error begins with where in the line the fault is.
func (t *csvTable) row(f []string) error {
	w, err := strconv.ParseFloat(f[0], 64)
	if err != nil {
		return fmt.Errorf(", column 1: wavelength %.20q is not a number", f[0])
	}
	if math.IsNaN(w) || len(t.nm) > 0 && !(w > t.nm[len(t.nm)-1]) {
		return fmt.Errorf(", column 1: wavelength %v: want them rising", w)
	}
	if t.cols == nil {
		t.cols = make([][]float64, len(f)-1)
	}
	if len(f) != len(t.cols)+1 || len(f) < 2 {
		return fmt.Errorf(": %d columns, want %d", len(f), max(len(t.cols)+1, 2))
	}
	if len(t.nm) >= maxRows {
		return fmt.Errorf(": more than %d rows", maxRows)
	}
	t.nm = append(t.nm, w)
	for k, s := range f[1:] {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf(", column %d: value %.20q is not a number", k+2, s)
		}
		t.cols[k] = append(t.cols[k], v)
	}
	return nil
}

// files makes a spectrum of every column.
func (t *csvTable) files() ([]File, error) {
	names, nm, cols := t.names, t.nm, t.cols
	if len(cols) == 0 {
		return nil, fmt.Errorf("spectrum: no rows of wavelength and value")
	}
	files := make([]File, len(cols))
	for k := range cols {
		name := ""
		if k+1 < len(names) {
			name = names[k+1]
		}
		f, err := finish(name, "", nm, cols[k])
		if err != nil {
			return nil, fmt.Errorf("column %d %.40q: %w", k+2, name, err)
		}
		files[k] = f
	}
	return files, nil
}

// separator finds how the columns of a text stand apart: the strongest mark
// that is met on the first line with a digit.
func separator(text string) func(string) []string {
	sample := ""
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if line != "" && line[0] >= '0' && line[0] <= '9' {
			sample = line
			break
		}
	}
	for _, sep := range []string{";", "\t", ","} {
		if !strings.Contains(sample, sep) {
			continue
		}
		decimal := sep != ","
		return func(line string) []string {
			f := strings.Split(line, sep)
			for i := range f {
				f[i] = strings.Trim(strings.TrimSpace(f[i]), `"`)
				if decimal {
					f[i] = strings.Replace(f[i], ",", ".", 1)
				}
			}
			return f
		}
	}
	return strings.Fields
}
