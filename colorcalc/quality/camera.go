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

// develop turns the signals of both lights into XYZ, reference white at Y = 1, by the balance of the camera on
// the reference. standard is what the 2-degree observer sees of the same lights.
func (s *seen) develop(standard *seen) error {
	d, err := balance(&s.ref, &standard.ref)
	if err == nil {
		d.apply(&s.test)
		d.apply(&s.ref)
	}
	return err
}

// development turns a camera's signals into XYZ.
type development struct {
	white  colorcalc.XYZ // signals of the reference's white
	matrix [9]float64
}

// balance sets a camera on a reference, by its signals there and by what the 2-degree observer sees. Its matrix is the one of
// least squares over the CES samples under the reference that keeps white: row j solves
// min |(v1-v3) a + (v2-v3) b - (X_j - w_j v3)|, its third entry w_j - a - b.
func balance(signals, standard *[Samples + 2]colorcalc.XYZ) (*development, error) {
	d := &development{white: signals[seenWhite]}
	if !(d.white.X > 0 && d.white.Y > 0 && d.white.Z > 0) {
		return nil, fmt.Errorf("%w: one of them sees nothing of the reference", ErrCamera)
	}
	w := standard[seenWhite]
	var pp, pq, qq float64
	var pr, qr [3]float64
	for k := range Samples {
		v := divide(signals[k], d.white)
		p, q := v.X-v.Z, v.Y-v.Z
		pp, pq, qq = pp+p*p, pq+p*q, qq+q*q
		x := standard[k]
		for j, r := range [3]float64{x.X - w.X*v.Z, x.Y - w.Y*v.Z, x.Z - w.Z*v.Z} {
			pr[j], qr[j] = pr[j]+p*r/w.Y, qr[j]+q*r/w.Y
		}
	}
	det := pp*qq - pq*pq
	if !(det > 1e-9*pp*qq) {
		return nil, fmt.Errorf("%w: under the reference two of them, or all, see the same", ErrCamera)
	}
	for j, wj := range [3]float64{w.X / w.Y, 1, w.Z / w.Y} {
		a, b := (pr[j]*qq-qr[j]*pq)/det, (qr[j]*pp-pr[j]*pq)/det
		d.matrix[3*j], d.matrix[3*j+1], d.matrix[3*j+2] = a, b, wj-a-b
	}
	return d, nil
}

func (d *development) apply(signals *[Samples + 2]colorcalc.XYZ) {
	for k, v := range signals {
		signals[k] = through(&d.matrix, divide(v, d.white))
	}
}

func divide(a, b colorcalc.XYZ) colorcalc.XYZ {
	return colorcalc.XYZ{X: a.X / b.X, Y: a.Y / b.Y, Z: a.Z / b.Z}
}

func through(m *[9]float64, c colorcalc.XYZ) colorcalc.XYZ {
	x, y, z := apply3(m, c.X, c.Y, c.Z)
	return colorcalc.XYZ{X: x, Y: y, Z: z}
}
