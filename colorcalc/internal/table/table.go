// Package table reads the compact tables that the colour room carries: comma
// separated text, one line that starts with '#' and names quantity, unit and
// source, one line of column names, then rows of numbers on an even,
// ascending grid of wavelengths in nanometres.
package table

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Table is a set of columns over one even grid of wavelengths.
type Table struct {
	Source  string // the '#' line, without the mark
	StartNM float64
	StepNM  float64
	Names   []string    // of the columns, without the wavelength
	Columns [][]float64 // Columns[k][i] belongs to StartNM + i*StepNM
}

// Len is the number of rows.
func (t *Table) Len() int {
	if len(t.Columns) == 0 {
		return 0
	}
	return len(t.Columns[0])
}

// Column finds a column by name, letter case aside; nil if there is none.
func (t *Table) Column(name string) []float64 {
	for k, n := range t.Names {
		if strings.EqualFold(n, name) {
			return t.Columns[k]
		}
	}
	return nil
}

// Must reads a table that is compiled into the program and panics if that is
// broken, as a build that carries it cannot work. Never call it on input.
func Must(text string) *Table {
	t, err := Read(text)
	if err != nil {
		panic("colorcalc: embedded table: " + err.Error())
	}
	return t
}

// Read reads a table. Errors name the line.
func Read(text string) (*Table, error) {
	t := &Table{}
	var nm []float64
	n := 0
	for line := range strings.Lines(text) {
		n++
		line = strings.TrimSpace(line)
		switch {
		case line == "":
		case strings.HasPrefix(line, "#"):
			t.Source = strings.TrimSpace(line[1:])
		case t.Names == nil:
			t.Names = strings.Split(line, ",")[1:]
			t.Columns = make([][]float64, len(t.Names))
		default:
			f := strings.Split(line, ",")
			if len(f) != len(t.Names)+1 {
				return nil, fmt.Errorf("line %d: %d fields, want %d", n, len(f), len(t.Names)+1)
			}
			for k, s := range f {
				v, err := strconv.ParseFloat(s, 64)
				if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
					return nil, fmt.Errorf("line %d: %q is not a number", n, s)
				}
				if k == 0 {
					nm = append(nm, v)
				} else {
					t.Columns[k-1] = append(t.Columns[k-1], v)
				}
			}
		}
	}
	if len(nm) < 2 || t.Source == "" {
		return nil, fmt.Errorf("want a source line, a header and at least two rows")
	}
	t.StartNM, t.StepNM = nm[0], nm[1]-nm[0]
	for i, v := range nm {
		if !(t.StepNM > 0) || math.Abs(v-t.StartNM-float64(i)*t.StepNM) > 1e-9 {
			return nil, fmt.Errorf("row %d: the grid is not even at %v nm", i+1, v)
		}
	}
	return t, nil
}
