package instrument

import (
	"bytes"
	"fmt"
	"math"
	"regexp"

	"trueup/colorcalc/spectrum"
)

// minSpectrum is the fewest values that make a spectrum: 380 to 780 nm in
// steps of 20 nm.
const minSpectrum = 21

// even puts rows of wavelength and value on an even grid: as they are when
// their spacing is even, else by linear interpolation in steps of 1 nm.
func even(nm, vals []float64) (*spectrum.Spectrum, error) {
	if len(nm) < minSpectrum {
		return nil, fmt.Errorf("spectrum: %d rows, want at least %d", len(nm), minSpectrum)
	}
	if !(nm[0] >= 100 && nm[len(nm)-1] <= 3000 && nm[0] < 780 && nm[len(nm)-1] > 380) {
		return nil, fmt.Errorf("spectrum from %v to %v nm: are these nanometres?", nm[0], nm[len(nm)-1])
	}
	step := (nm[len(nm)-1] - nm[0]) / float64(len(nm)-1)
	isEven := true
	for i := range nm {
		if math.Abs(nm[i]-nm[0]-float64(i)*step) > 0.01*step {
			isEven = false
			break
		}
	}
	if isEven {
		sp := &spectrum.Spectrum{StartNM: nm[0], StepNM: step, Values: vals}
		return sp, whole(sp)
	}
	sp := &spectrum.Spectrum{StartNM: math.Ceil(nm[0]), StepNM: 1}
	i := 0
	for w := sp.StartNM; w <= nm[len(nm)-1]; w++ {
		for nm[i+1] < w {
			i++
		}
		t := (w - nm[i]) / (nm[i+1] - nm[i])
		sp.Values = append(sp.Values, vals[i]+t*(vals[i+1]-vals[i]))
	}
	return sp, whole(sp)
}

// whole checks a spectrum, and that it covers what the eye sees: 400-700 nm holds
// all but 0.06 % of the luminous efficiency function.
func whole(s *spectrum.Spectrum) error {
	if err := s.Check(); err != nil {
		return err
	}
	if s.StartNM > 400 || s.EndNM() < 700 {
		return fmt.Errorf("spectrum from %v to %v nm: too short for a colour, want at least 400 to 700 nm", s.StartNM, s.EndNM())
	}
	return nil
}

// read finds the spectrum in a message.
func (s *spectrumPlace) read(v decoded, data []byte, comma bool) (*spectrum.Spectrum, error) {
	if s.rows != nil {
		return s.fromRows(s.rows, data, comma)
	}
	texts, ok := v.list(s.place)
	if !ok || len(texts) != s.count {
		return nil, fmt.Errorf("spectrum: %d values, want %d", len(texts), s.count)
	}
	sp := &spectrum.Spectrum{StartNM: s.start, StepNM: s.step, Values: make([]float64, len(texts))}
	for i, t := range texts {
		n, err := parseNumber(t, comma)
		if err != nil {
			return nil, fmt.Errorf("spectrum value %d: %w", i+1, err)
		}
		sp.Values[i] = n.value * s.scale
	}
	return sp, whole(sp)
}

func (s *spectrumPlace) fromRows(re *regexp.Regexp, data []byte, comma bool) (*spectrum.Spectrum, error) {
	var nm, vals []float64
	for line := range bytes.Lines(data) {
		g := re.FindSubmatch(bytes.TrimRight(line, "\r\n"))
		if g == nil {
			continue
		}
		w, err := parseNumber(string(g[s.nm]), comma)
		if err != nil {
			return nil, fmt.Errorf("wavelength: %w", err)
		}
		x, err := parseNumber(string(g[s.value]), comma)
		if err != nil {
			return nil, fmt.Errorf("spectrum at %v nm: %w", w.value, err)
		}
		if len(nm) > 0 && w.value <= nm[len(nm)-1] {
			return nil, fmt.Errorf("wavelength %v nm after %v nm: want a rising order", w.value, nm[len(nm)-1])
		}
		nm, vals = append(nm, w.value), append(vals, x.value*s.scale)
		if len(nm) > maxList {
			return nil, fmt.Errorf("spectrum: more than %d rows", maxList)
		}
	}
	return even(nm, vals)
}
