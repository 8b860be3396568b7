package spectrum

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
)

// File is one spectrum as a file gave it.
type File struct {
	Name     string // column name, or the description of a TM-27 file
	Quantity string // "transmittance", "irradiance", ...; "" where the file does not say
	Spectrum
	MissingNM float64 // how much of 380-780 nm the file does not cover
	PeakNM    float64 // wavelength of the largest value
}

const (
	maxFile    = 8 << 20 // bytes
	maxRows    = 20_000
	maxColumns = 256
	minRows    = 5
	// noiseFloor is how far below zero a value may lie, relative to the
	// largest: meters have noise, but light is not negative.
	noiseFloor = 0.05
)

// Read reads spectra from a file: IES TM-27 XML where the text begins with
// '<', else CSV. See ReadTM27 and ReadCSV.
func Read(r io.Reader) ([]File, error) {
	text, err := readAll(r)
	if err != nil {
		return nil, err
	}
	if strings.HasPrefix(strings.TrimSpace(text), "<") {
		f, err := ReadTM27(strings.NewReader(text))
		if err != nil {
			return nil, err
		}
		return []File{f}, nil
	}
	return ReadCSV(strings.NewReader(text))
}

// readAll reads bounded text and takes off a byte order mark.
func readAll(r io.Reader) (string, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxFile+1))
	if err != nil {
		return "", fmt.Errorf("spectrum: %w", err)
	}
	if len(data) > maxFile {
		return "", fmt.Errorf("spectrum: file larger than %d MB", maxFile>>20)
	}
	if len(data) == 0 {
		return "", errors.New("spectrum: the file is empty")
	}
	return strings.TrimPrefix(string(data), "\ufeff"), nil
}

// finish checks the pairs of one spectrum and puts them on an even grid, by
// straight lines where they are uneven, as line spectra mostly are.
func finish(name, quantity string, nm, values []float64) (File, error) {
	if len(nm) < minRows {
		return File{}, fmt.Errorf("spectrum: %d rows, want at least %d", len(nm), minRows)
	}
	f := File{Name: name, Quantity: quantity}
	least, most := math.Inf(1), 0.0
	for i, v := range values {
		least = min(least, v)
		if v > most {
			most, f.PeakNM = v, nm[i]
		}
	}
	if most > 1e30 {
		return File{}, fmt.Errorf("spectrum: value %v: no light is that strong", most)
	}
	if !(most > 0) {
		return File{}, errors.New("spectrum: no value above zero")
	}
	if least < -noiseFloor*most {
		return File{}, fmt.Errorf("spectrum: value %v is negative by more than noise", least)
	}
	s, err := FromLines(nm, values)
	if err != nil {
		return File{}, err
	}
	f.Spectrum = s
	f.MissingNM = 400 - max(0, min(s.EndNM(), 780)-max(s.StartNM, 380))
	return f, nil
}
