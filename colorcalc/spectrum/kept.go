package spectrum

import (
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
)

// Kept is a spectrum as a journal keeps it: 380 to 780 nm in steps of 5 nm, in float32. Its text is
// the 81 values, each four bytes with the least first (IEEE 754), in base64 without padding: 432 characters.
type Kept [81]float32

// ErrKept says that a text is no kept spectrum.
var ErrKept = errors.New("spectrum: no kept spectrum")

// keptMost and keptLeast bound the peak of a kept spectrum: well inside what a float32 holds.
const keptMost, keptLeast = 1e30, 1e-25

// Keep brings s to the grid of kept spectra. A peak beyond what float32 holds well becomes 1: then only
// the shape is kept. Errors: a broken spectrum, ErrNoLight where nothing is above zero.
func Keep(s Spectrum) (*Kept, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	s = s.Resample(Visible5)
	top := 0.0
	for _, v := range s.Values {
		top = max(top, math.Abs(v))
	}
	if !(top > 0) || math.IsInf(top, 0) {
		return nil, ErrNoLight
	}
	if top > keptMost || top < keptLeast {
		s = s.Scale(1 / top)
	}
	k := &Kept{}
	for i, v := range s.Values {
		k[i] = float32(v)
	}
	return k, nil
}

// KeptOf is Keep of a spectrum that there may be none of; nil: there is none, or it holds no light.
func KeptOf(s *Spectrum) *Kept {
	if s == nil {
		return nil
	}
	k, err := Keep(*s)
	if err != nil {
		return nil
	}
	return k
}

// Spectrum is the spectrum that was kept.
func (k *Kept) Spectrum() Spectrum {
	return Visible5.On(func(nm float64) float64 { return float64(k[int(nm-Visible5.StartNM+0.5)/5]) })
}

// MarshalText writes the values.
func (k Kept) MarshalText() ([]byte, error) {
	var b []byte
	for _, v := range k {
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(v))
	}
	return base64.RawStdEncoding.AppendEncode(nil, b), nil
}

// UnmarshalText reads them back. Errors: ErrKept.
func (k *Kept) UnmarshalText(text []byte) error {
	b, err := base64.RawStdEncoding.AppendDecode(nil, text)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrKept, err)
	}
	if len(b) != 4*len(k) {
		return fmt.Errorf("%w: %d bytes, want %d", ErrKept, len(b), 4*len(k))
	}
	for i := range k {
		v := math.Float32frombits(binary.LittleEndian.Uint32(b[4*i:]))
		if f := float64(v); math.IsNaN(f) || math.IsInf(f, 0) {
			return fmt.Errorf("%w: the value at %v nm is not finite", ErrKept, Visible5.NM(i))
		}
		k[i] = v
	}
	return nil
}
