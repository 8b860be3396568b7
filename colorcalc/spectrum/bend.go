package spectrum

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"trueup/colorcalc"
)

// ErrBend says that no bending of a spectrum gives the colour asked for.
var ErrBend = errors.New("spectrum: it can not be bent to this colour")

// Bend is what brings a nominal spectrum to a measured colour: it is multiplied by
// exp(A + B t + C t²), t = (nm - CentroidNM)/RMSNM, centroid and width being the nominal's
// own. A band that is a Gaussian stays one; its height, peak and width move.
type Bend struct {
	A, B, C           float64
	CentroidNM, RMSNM float64
}

// Figures of bending.
const (
	bendTurns    = 60
	bendHalvings = 30
	bendEnough   = 1e-13 // residual, in parts of X+Y+Z
	bendStill    = 1e-7  // the same, where no step helps any more: far below any meter
	bendMost     = 6.0   // of B and C, beyond which the result is another lamp's spectrum
)

// BendTo finds the bend that gives s the tristimulus values want, as XYZ of 2 degrees counts
// them, by Newton's method with halving: three unknowns for three values. It works on 380-780 nm at
// 5 nm. Errors: a broken spectrum, want not positive, ErrBend.
func (s Spectrum) BendTo(want colorcalc.XYZ) (Bend, error) {
	if err := s.Check(); err != nil {
		return Bend{}, err
	}
	if !(want.X > 0 && want.Y > 0 && want.Z >= 0) || math.IsInf(want.X+want.Y+want.Z, 0) {
		return Bend{}, fmt.Errorf("%w: X Y Z are %v %v %v, want them positive", ErrBend, want.X, want.Y, want.Z)
	}
	s = s.Resample(Visible5)
	power := s.Power()
	if !(power > 0) {
		return Bend{}, ErrNoLight
	}
	b := Bend{}
	b.CentroidNM = s.moment(func(nm float64) float64 { return nm }) / power
	b.RMSNM = math.Sqrt(s.moment(func(nm float64) float64 { return (nm - b.CentroidNM) * (nm - b.CentroidNM) }) / power)
	if !(b.RMSNM > 0) {
		return Bend{}, fmt.Errorf("%w: it has one line alone", ErrBend)
	}
	b.A = math.Log(want.Y / s.XYZ(Deg2).Y)
	if math.IsInf(b.A, 0) || math.IsNaN(b.A) {
		return Bend{}, ErrNoLight
	}
	r, j := b.rest(s, want)
	for range bendTurns {
		if mat.Norm(r, 2) < bendEnough {
			return b, nil
		}
		var step mat.VecDense
		if err := step.SolveVec(j, r); err != nil && !isCondition(err) {
			break
		}
		next, ok := b, false
		for k, f := 0, 1.0; k < bendHalvings && !ok; k, f = k+1, f/2 {
			next.A, next.B, next.C = b.A-f*step.AtVec(0), b.B-f*step.AtVec(1), b.C-f*step.AtVec(2)
			if !(math.Abs(next.B) < bendMost && math.Abs(next.C) < bendMost) {
				continue
			}
			if rr, jj := next.rest(s, want); mat.Norm(rr, 2) < mat.Norm(r, 2) {
				r, j, b, ok = rr, jj, next, true
			}
		}
		if !ok {
			break
		}
	}
	if mat.Norm(r, 2) < bendStill {
		return b, nil
	}
	return Bend{}, ErrBend
}

// rest is how far the bent spectrum is from want, in parts of the whole (Z of a red emitter
// is next to nothing, and so is what it says), and its derivatives by A, B and C.
func (b Bend) rest(s Spectrum, want colorcalc.XYZ) (*mat.VecDense, *mat.Dense) {
	r, j := mat.NewVecDense(3, nil), mat.NewDense(3, 3, nil)
	whole := want.X + want.Y + want.Z
	bent := b.Of(s)
	for k := range 3 {
		c := bent.XYZ(Deg2)
		for row, v := range [3]float64{c.X, c.Y, c.Z} {
			j.Set(row, k, v/whole)
			if k == 0 {
				r.SetVec(row, (v-[3]float64{want.X, want.Y, want.Z}[row])/whole)
			}
		}
		bent = bent.fill(func(i int) float64 { return bent.Values[i] * (bent.NM(i) - b.CentroidNM) / b.RMSNM })
	}
	return r, j
}

// moment is the integral of s times a function of wavelength.
func (s Spectrum) moment(f func(nm float64) float64) (sum float64) {
	for i, v := range s.Values {
		sum += v * f(s.NM(i))
	}
	return sum * s.StepNM
}

// isCondition tells that a system was solved, though badly conditioned: a bad step is
// halved.
func isCondition(err error) bool {
	var c mat.Condition
	return errors.As(err, &c) && !math.IsInf(float64(c), 0)
}

// Of is the bent spectrum, on the grid of s.
func (b Bend) Of(s Spectrum) Spectrum {
	return s.Scale(1).fill(func(i int) float64 {
		t := (s.NM(i) - b.CentroidNM) / b.RMSNM
		return s.Values[i] * math.Exp(b.A+b.B*t+b.C*t*t)
	})
}
