package instrument

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// ownJSON reads JSON lines of our own, as the simulated stage and small
// home-made meters send them:
//
//	{"probe":"mark","seq":12,"time_unix_ms":1700000000123,"integration_ms":200,"x":0.3127,"y":0.3290,"lux":123.4}
//
// A spectrometer adds "spectrum":[...],"spectrum_from_nm":380,"spectrum_step_nm":5, power per nanometre in any unit.
// time_unix_ms is the end of the integration. Only x and y must be there. Y is
// read as lux is. Names are read as they are written here, capital or not, and
// each stands once; others are passed over.
type ownJSON struct{}

type ownLine struct {
	Probe, Serial         string
	Seq                   *uint64
	TimeUnixMs            *float64
	IntegrationMs         float64
	X, Y, Lux, RoundXY    *float64
	Saturated, Underrange bool
	Spectrum              []float64
	FromNM, StepNM        *float64
}

// read decodes an object. The decoder of structs is no use here: it takes "Y"
// for "y", and of two the last one.
func (l *ownLine) read(m []byte) error {
	into := map[string]any{"probe": &l.Probe, "serial": &l.Serial, "seq": &l.Seq, "time_unix_ms": &l.TimeUnixMs, "integration_ms": &l.IntegrationMs,
		"x": &l.X, "y": &l.Y, "lux": &l.Lux, "Y": &l.Lux, "round_xy": &l.RoundXY, "saturated": &l.Saturated, "underrange": &l.Underrange,
		"spectrum": &l.Spectrum, "spectrum_from_nm": &l.FromNM, "spectrum_step_nm": &l.StepNM}
	d := json.NewDecoder(bytes.NewReader(m))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return errors.New("it does not begin with {")
	}
	seen := map[any]string{}
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return err
		}
		name, _ := t.(string)
		to, known := into[name]
		if !known {
			for right := range into {
				if strings.EqualFold(right, name) {
					return fmt.Errorf("%q: did you mean %q?", name, right)
				}
			}
			to = new(json.RawMessage)
		} else if before, twice := seen[to]; twice {
			return fmt.Errorf("%q after %q: which of them counts?", name, before)
		}
		seen[to] = name
		if err := d.Decode(to); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	if _, err := d.Token(); err != nil {
		return err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("there is something behind it")
	}
	return nil
}

// spectrum is the spectrum that a line told.
func (l *ownLine) spectrum() (*spectrum.Spectrum, error) {
	if l.FromNM == nil || l.StepNM == nil {
		return nil, errors.New("spectrum without spectrum_from_nm and spectrum_step_nm")
	}
	if len(l.Spectrum) < minSpectrum || len(l.Spectrum) > maxList {
		return nil, fmt.Errorf("spectrum: %d values, want %d to %d", len(l.Spectrum), minSpectrum, maxList)
	}
	s := &spectrum.Spectrum{StartNM: *l.FromNM, StepNM: *l.StepNM, Values: l.Spectrum}
	return s, whole(s)
}

// ownRoundXY is the rounding assumed for our own lines: four decimals.
const ownRoundXY = 1e-4

func (ownJSON) Decode(in Message, _ time.Time) ([]Draft, []Aside) {
	m := bytes.TrimSpace(in.Data)
	if len(m) == 0 {
		return nil, nil
	}
	bad := func(format string, args ...any) ([]Draft, []Aside) {
		return nil, []Aside{{Reason: Unreadable, Words: fmt.Sprintf(format, args...), Raw: Cut(m)}}
	}
	var l ownLine
	if err := l.read(m); err != nil {
		return bad("not a JSON object of ours: %v", err)
	}
	d := Draft{Quantity: Chromaticity, Probe: l.Probe, Serial: l.Serial, RoundXY: ownRoundXY, Raw: Cut(m)}
	if l.Saturated {
		d.Flags |= Saturated
	}
	if l.Underrange {
		d.Flags |= Underrange
	}
	if l.X == nil || l.Y == nil {
		if !l.Underrange && !l.Saturated {
			return bad("x or y is missing")
		}
	} else {
		d.UV = colorcalc.XY{X: *l.X, Y: *l.Y}.UV()
	}
	if l.Lux != nil {
		d.Y, d.HasY, d.Quantity = *l.Lux, true, ChromaLevel
	}
	if l.Spectrum != nil {
		s, err := l.spectrum()
		if err != nil {
			return bad("%v", err)
		}
		d.Spectrum = s
	}
	if l.Seq != nil {
		d.Seq, d.HasSeq = *l.Seq, true
	}
	if l.TimeUnixMs != nil {
		if !(math.Abs(*l.TimeUnixMs) < 1e14) {
			return bad("time_unix_ms %v is no time", *l.TimeUnixMs)
		}
		d.Stamp, d.HasStamp = time.UnixMicro(int64(*l.TimeUnixMs*1000)), true
	}
	if l.IntegrationMs < 0 || l.IntegrationMs > 60_000 {
		return bad("integration_ms %v is not between 0 and 60000", l.IntegrationMs)
	}
	d.Integration = time.Duration(l.IntegrationMs * float64(time.Millisecond))
	if l.RoundXY != nil && *l.RoundXY >= 0 && *l.RoundXY < 0.1 {
		d.RoundXY = *l.RoundXY
	}
	return []Draft{d}, nil
}
