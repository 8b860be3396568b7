package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math"

	"github.com/google/renameio/v2/maybe"

	"trueup/colorcalc/spectrum"
)

// writeSpectra writes the measured spectra as CSV: the wavelength, then a column for each emitter that gives light, headed
// by its name, power per nanometre with the peak at 1. It says what a person may do who asked for none.
func (p *emitterProbe) writeSpectra(w io.Writer, file string) error {
	var lit []probed
	for _, e := range p.found {
		if e.light != nil && !e.dark() {
			lit = append(lit, e)
		}
	}
	switch {
	case len(lit) == 0 && file != "":
		return fmt.Errorf("no spectra to write to %s: the meter told none", file)
	case len(lit) == 0:
		return nil
	case file == "":
		fmt.Fprintln(w, "\nspectra were read: with --spectra FILE they are kept, for the profile")
		return nil
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "# measured by trueup profile probe, of one unit; power per nanometre, each peak at 1\n")
	c := csv.NewWriter(&b)
	head := []string{"nm"}
	columns := make([][]float64, len(lit))
	for k, e := range lit {
		head = append(head, e.emitter.Name)
		columns[k] = e.light.Resample(spectrum.Visible5).Values
		top := 0.0
		for _, v := range columns[k] {
			top = max(top, v)
		}
		for i, v := range columns[k] {
			columns[k][i] = math.Round(v/top*1e5) / 1e5 // below zero by noise it stays: cut off it would be light in the mean
		}
	}
	rows := [][]string{head}
	for i := range columns[0] {
		row := []string{fmt.Sprintf("%.0f", spectrum.Visible5.NM(i))}
		for k := range columns {
			row = append(row, fmt.Sprintf("%g", columns[k][i]))
		}
		rows = append(rows, row)
	}
	if err := c.WriteAll(rows); err != nil {
		return err
	}
	if err := maybe.WriteFile(file, b.Bytes(), 0o644); err != nil {
		return err
	}
	p.file = file
	fmt.Fprintf(w, "\nspectra of %d emitters: %s; put it beside the profile\n", len(lit), file)
	return nil
}
