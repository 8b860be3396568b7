package spectrum

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// maxDepth bounds the nesting of a TM-27 file, which needs three.
const maxDepth = 16

// ReadTM27 reads one spectrum of IES TM-27-14 XML. Elements are matched by
// their local names. Spacing may be uneven. Refused, with the line: document
// types, entities and encodings other than UTF-8, wavelengths that do not
// rise, values that are not finite numbers or negative beyond noise, fewer than
// five points, more than 20 000, files above 8 MB.
func ReadTM27(r io.Reader) (File, error) {
	text, err := readAll(r)
	if err != nil {
		return File{}, err
	}
	dec := xml.NewDecoder(strings.NewReader(text))
	dec.Strict = true
	var p tm27
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err == nil {
			err = p.token(tok)
		}
		if err != nil {
			line, _ := dec.InputPos()
			return File{}, fmt.Errorf("spectrum: line %d: %w", line, err)
		}
	}
	if !p.root {
		return File{}, errors.New("spectrum: not a TM-27 file: no IESTM2714 element")
	}
	return finish(p.name, p.quantity, p.nm, p.values)
}

// tm27 is the state of the reader: the elements that are open and what was
// found.
type tm27 struct {
	root           bool
	path           []string
	text           strings.Builder
	wavelength     float64
	name, quantity string
	nm, values     []float64
}

func (p *tm27) token(tok xml.Token) error {
	switch e := tok.(type) {
	case xml.Directive:
		return errors.New("document types and entities are refused")
	case xml.StartElement:
		return p.open(e)
	case xml.CharData:
		if len(p.path) == 0 {
			return nil
		}
		if p.text.Len()+len(e) > 64<<10 {
			return errors.New("an element holds more than 64 kB of text")
		}
		p.text.Write(e)
	case xml.EndElement:
		return p.close()
	}
	return nil
}

func (p *tm27) open(e xml.StartElement) error {
	if len(p.path) == 0 {
		if !strings.EqualFold(e.Name.Local, "IESTM2714") {
			return fmt.Errorf("root element %.40q, want IESTM2714", e.Name.Local)
		}
		p.root = true
	}
	if len(p.path) >= maxDepth {
		return fmt.Errorf("elements nested deeper than %d", maxDepth)
	}
	p.path = append(p.path, e.Name.Local)
	p.text.Reset()
	if !p.in("SpectralDistribution", "SpectralData") {
		return nil
	}
	for _, a := range e.Attr {
		if strings.EqualFold(a.Name.Local, "wavelength") {
			w, err := strconv.ParseFloat(strings.TrimSpace(a.Value), 64)
			if err != nil || !(w >= minNM && w <= maxNM) {
				return fmt.Errorf("wavelength %.20q: want nanometres within %d to %d", a.Value, minNM, maxNM)
			}
			if n := len(p.nm); n > 0 && w <= p.nm[n-1] {
				return fmt.Errorf("wavelength %v follows %v: want them rising", w, p.nm[n-1])
			}
			p.wavelength = w
			return nil
		}
	}
	return errors.New("SpectralData without a wavelength")
}

// in reports whether the innermost elements are these.
func (p *tm27) in(names ...string) bool {
	if len(p.path) != len(names)+1 {
		return false
	}
	for i, n := range names {
		if !strings.EqualFold(p.path[i+1], n) {
			return false
		}
	}
	return true
}

func (p *tm27) close() error {
	text := strings.TrimSpace(p.text.String())
	switch {
	case p.in("SpectralDistribution", "SpectralData"):
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("value %.20q at %v nm is not a number", text, p.wavelength)
		}
		if len(p.nm) >= maxRows {
			return fmt.Errorf("more than %d values", maxRows)
		}
		p.nm, p.values = append(p.nm, p.wavelength), append(p.values, v)
	case p.in("SpectralDistribution", "SpectralQuantity"):
		p.quantity = strings.ToLower(text)
	case p.in("Header", "Description"):
		p.name = text
	}
	p.text.Reset()
	p.path = p.path[:len(p.path)-1]
	return nil
}
