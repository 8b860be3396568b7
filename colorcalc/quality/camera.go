package quality

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// Camera is a camera described by the sensitivities of its three channels; only
// their shapes count, each channel's scale and their order drop out.
type Camera struct {
	MissingNM float64 // how much of 380-780 nm the description leaves out; it counts as blind
	seen      *observed
}

// ErrCamera says that three channels are no camera for colours.
var ErrCamera = errors.New("quality: the channels of the camera do not tell colours apart")

// NewCamera describes a camera by its three channels, brought to 5 nm by straight
// lines. Errors: a broken spectrum, or a channel that sees nothing in 380-780 nm.
func NewCamera(channels [3]spectrum.Spectrum) (*Camera, error) {
	var o [3]light
	c := &Camera{}
	for k, s := range channels {
		if err := s.Check(); err != nil {
			return nil, fmt.Errorf("channel %d: %w", k+1, err)
		}
		sum, top := 0.0, 0.0
		for i := range o[k] {
			o[k][i] = s.At(spectrum.Visible5.NM(i))
			top = max(top, math.Abs(o[k][i]))
		}
		for i := range o[k] {
			if top > 0 {
				o[k][i] /= top
			}
			sum += o[k][i]
		}
		if !(sum > 0) {
			return nil, fmt.Errorf("channel %d: %w: it sees nothing between 380 and 780 nm", k+1, ErrCamera)
		}
		c.MissingNM = max(c.MissingNM, 400-max(0, min(s.EndNM(), 780)-max(s.StartNM, 380)))
	}
	c.seen = observe(&o)
	return c, nil
}

// StandardCamera is the camera of EBU Tech 3355, by its sensitivities alone: one observer among
// others, with narrow bands.
func StandardCamera() *Camera {
	c, err := ReadCamera(strings.NewReader(tlciCamera))
	if err != nil {
		panic("the table of this package: " + err.Error()) // never: a test reads it
	}
	return c
}

// ReadCamera reads a camera as CSV: the wavelength in nanometres, then one column
// for each of three channels, as spectrum.ReadCSV reads them. Errors name line
// and column.
func ReadCamera(r io.Reader) (*Camera, error) {
	files, err := spectrum.ReadCSV(r)
	if err != nil {
		return nil, err
	}
	if len(files) != 3 {
		return nil, fmt.Errorf("%d columns after the wavelength: a camera has three, red, green and blue", len(files))
	}
	return NewCamera([3]spectrum.Spectrum{files[0].Spectrum, files[1].Spectrum, files[2].Spectrum})
}

// develop turns the signals of both lights into XYZ, reference white at Y = 1. The
// camera is balanced on the reference, and its matrix is the one of least squares
// over the CES samples under the reference that keeps white: row j solves
// min |(v1-v3) a + (v2-v3) b - (X_j - w_j v3)|, its third entry w_j - a - b.
// standard is what the 2-degree observer sees of the same lights.
func (s *seen) develop(standard *seen) error {
	white := s.ref[seenWhite]
	if !(white.X > 0 && white.Y > 0 && white.Z > 0) {
		return fmt.Errorf("%w: one of them sees nothing of the reference", ErrCamera)
	}
	for k := range s.ref {
		s.test[k] = divide(s.test[k], white)
		s.ref[k] = divide(s.ref[k], white)
	}
	w := standard.ref[seenWhite]
	var m [9]float64
	var pp, pq, qq float64
	var pr, qr [3]float64
	for k := range Samples {
		v := s.ref[k]
		p, q := v.X-v.Z, v.Y-v.Z
		pp, pq, qq = pp+p*p, pq+p*q, qq+q*q
		x := standard.ref[k]
		for j, r := range [3]float64{x.X - w.X*v.Z, x.Y - w.Y*v.Z, x.Z - w.Z*v.Z} {
			pr[j], qr[j] = pr[j]+p*r/w.Y, qr[j]+q*r/w.Y
		}
	}
	det := pp*qq - pq*pq
	if !(det > 1e-9*pp*qq) {
		return fmt.Errorf("%w: under the reference two of them, or all, see the same", ErrCamera)
	}
	for j, wj := range [3]float64{w.X / w.Y, 1, w.Z / w.Y} {
		a, b := (pr[j]*qq-qr[j]*pq)/det, (qr[j]*pp-pr[j]*pq)/det
		m[3*j], m[3*j+1], m[3*j+2] = a, b, wj-a-b
	}
	for k := range s.ref {
		s.test[k], s.ref[k] = through(&m, s.test[k]), through(&m, s.ref[k])
	}
	return nil
}

func divide(a, b colorcalc.XYZ) colorcalc.XYZ {
	return colorcalc.XYZ{X: a.X / b.X, Y: a.Y / b.Y, Z: a.Z / b.Z}
}

func through(m *[9]float64, c colorcalc.XYZ) colorcalc.XYZ {
	x, y, z := apply3(m, c.X, c.Y, c.Z)
	return colorcalc.XYZ{X: x, Y: y, Z: z}
}
