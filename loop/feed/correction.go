package feed

import (
	"errors"
	"fmt"
	"math"
	"os"
	"sort"
	"time"

	"github.com/goccy/go-yaml"
	"github.com/google/renameio/v2/maybe"
	"gonum.org/v1/gonum/mat"

	"trueup/colorcalc"
	"trueup/profiles/userfile"
	"trueup/profiles/yamlfile"
)

// Correction brings one probe into agreement with another. Either an offset in
// x, y and a gain in Y (from one or two lamps), or a matrix in XYZ (from three
// or more lamps of different colours). It is stored, and shown wherever
// readings of the probe are.
type Correction struct {
	DX, DY float64     // added to x, y
	GainY  float64     // level is multiplied by this; 1 without levels
	M      *[9]float64 // XYZ' = M XYZ, row by row; nil: offset and gain
	Lamps  int         // lamps it was made from
	Made   time.Time
	To     string // the probe agreed with
	// Left is the largest difference in u'v' that remains over the lamps.
	Left float64
}

// Apply corrects a reading. A matrix needs a level; without one it is applied
// to the chromaticity at Y = 1, which is the same, since it is linear.
func (c Correction) Apply(r Reading) Reading {
	if c.M != nil {
		in := r.XYZ()
		out := apply(c.M, in)
		r.UV = out.UV()
		if r.HasY {
			r.Y = out.Y
		}
	} else {
		xy := r.UV.XY()
		r.UV = colorcalc.XY{X: xy.X + c.DX, Y: xy.Y + c.DY}.UV()
		if c.GainY > 0 {
			r.Y *= c.GainY
		}
	}
	r.Flags |= Corrected
	return r
}

func apply(m *[9]float64, c colorcalc.XYZ) colorcalc.XYZ {
	return colorcalc.XYZ{X: m[0]*c.X + m[1]*c.Y + m[2]*c.Z, Y: m[3]*c.X + m[4]*c.Y + m[5]*c.Z, Z: m[6]*c.X + m[7]*c.Y + m[8]*c.Z}
}

// String says what a correction does.
func (c Correction) String() string {
	how := fmt.Sprintf("x %+.4f, y %+.4f, level times %.4f", c.DX, c.DY, c.GainY)
	if c.M != nil {
		how = fmt.Sprintf("3x3 matrix from %d lights", c.Lamps)
	}
	return fmt.Sprintf("%s to agree with %q (%s; %.4f u'v' left)", how, c.To, c.Made.Format("2 January 2006"), c.Left)
}

// Pair is what two probes read of the same lamp: means, background off.
type Pair struct {
	Ours, Theirs colorcalc.XYZ
	HasY         bool // both tell a level; else Y is 1
}

// maxOffset in x, y: more than this is no difference of calibration but two
// probes that look at different light.
const maxOffset = 0.03

// Align finds the correction that brings ours to theirs. One or two lamps give
// an offset and a gain; three or more with levels give the matrix of least
// squares, unless their colours are too much alike to carry one.
func Align(pairs []Pair, to string, made time.Time) (Correction, error) {
	if len(pairs) == 0 {
		return Correction{}, errors.New("align: no light was read")
	}
	c := Correction{GainY: 1, Lamps: len(pairs), Made: made, To: to}
	levels := true
	lnGain := 0.0
	for i, p := range pairs {
		a, b := p.Ours.XY(), p.Theirs.XY()
		if !a.Valid() || !b.Valid() {
			return c, fmt.Errorf("align: light %d: no light on one of the probes", i+1)
		}
		if math.Hypot(b.X-a.X, b.Y-a.Y) > maxOffset {
			return c, fmt.Errorf("align: light %d: the probes differ by %.3f in x, y; do both look at the same light?", i+1, math.Hypot(b.X-a.X, b.Y-a.Y))
		}
		c.DX += (b.X - a.X) / float64(len(pairs))
		c.DY += (b.Y - a.Y) / float64(len(pairs))
		if p.HasY && p.Ours.Y > 0 && p.Theirs.Y > 0 {
			lnGain += math.Log(p.Theirs.Y/p.Ours.Y) / float64(len(pairs))
		} else {
			levels = false
		}
	}
	if levels {
		c.GainY = math.Exp(lnGain)
	}
	if len(pairs) >= 3 && levels {
		if m, ok := matrix(pairs); ok {
			c.M = m
		}
	}
	for _, p := range pairs {
		r := c.Apply(Reading{UV: p.Ours.UV(), Y: p.Ours.Y, HasY: true})
		c.Left = math.Max(c.Left, r.UV.Dist(p.Theirs.UV()))
	}
	return c, nil
}

// worstCondition of the lamps' tristimulus matrix that still carries a 3x3:
// with 0.5 % noise of a reading it makes errors below a percent or two.
const worstCondition = 60

// matrix solves ours' * M' = theirs' in the sense of least squares, each lamp
// scaled to Y = 1 so that a bright one does not outweigh the others.
func matrix(pairs []Pair) (*[9]float64, bool) {
	a, b := mat.NewDense(len(pairs), 3, nil), mat.NewDense(len(pairs), 3, nil)
	for i, p := range pairs {
		k := 1 / p.Ours.Y
		a.SetRow(i, []float64{p.Ours.X * k, p.Ours.Y * k, p.Ours.Z * k})
		b.SetRow(i, []float64{p.Theirs.X * k, p.Theirs.Y * k, p.Theirs.Z * k})
	}
	var qr mat.QR
	qr.Factorize(a)
	if !(qr.Cond() < worstCondition) {
		return nil, false
	}
	var m mat.Dense
	if err := qr.SolveTo(&m, false, b); err != nil {
		return nil, false
	}
	var out [9]float64
	for i := range 3 {
		for j := range 3 {
			out[3*i+j] = m.At(j, i)
		}
	}
	return &out, true
}

// correctionsFile is how corrections lie on the disk.
type correctionsFile struct {
	Probes map[string]correctionFile `yaml:"probes" need:"yes" items:"1 256" help:"one correction for each probe, by the rig's name"`
}

type correctionFile struct {
	To     string    `yaml:"to" need:"yes" help:"probe that it agrees with"`
	Made   string    `yaml:"made" need:"yes" help:"RFC 3339"`
	Lamps  int       `yaml:"lamps" min:"1" max:"1000"`
	Left   float64   `yaml:"left_uv" min:"0" max:"1"`
	DX     float64   `yaml:"dx" min:"-0.03" max:"0.03"`
	DY     float64   `yaml:"dy" min:"-0.03" max:"0.03"`
	GainY  float64   `yaml:"gain_y" min:"0.001" max:"1000"`
	Matrix []float64 `yaml:"matrix,omitempty" items:"9 9" help:"XYZ to XYZ, row by row"`
}

// LoadCorrections reads corrections by probe. A file that is not there gives
// none.
func LoadCorrections(path string) (map[string]Correction, error) {
	data, err := userfile.Read(path, userfile.Corrections)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var in correctionsFile
	doc, err := yamlfile.Decode(path, data, &in)
	if doc == nil {
		return nil, err
	}
	out := map[string]Correction{}
	for name, p := range in.Probes {
		at := "$.probes" + yamlfile.Key(name)
		c := Correction{DX: p.DX, DY: p.DY, GainY: p.GainY, Lamps: p.Lamps, To: p.To, Left: p.Left}
		if c.GainY == 0 {
			c.GainY = 1
		}
		if c.Made, err = time.Parse(time.RFC3339, p.Made); err != nil {
			doc.Errorf(at+".made", "%q: want a time like 2006-01-02T15:04:05Z", p.Made)
		}
		if len(p.Matrix) == 9 {
			c.M = (*[9]float64)(p.Matrix)
			var d mat.Dense
			if d.Inverse(mat.NewDense(3, 3, p.Matrix)) != nil {
				doc.Errorf(at+".matrix", "this matrix maps colours onto a line")
			}
		}
		out[name] = c
	}
	return out, doc.Err()
}

// SaveCorrections writes corrections whole or not at all.
func SaveCorrections(path string, cs map[string]Correction) error {
	out := correctionsFile{Probes: map[string]correctionFile{}}
	names := make([]string, 0, len(cs))
	for n := range cs {
		names = append(names, n)
	}
	sort.Strings(names)
	for _, n := range names {
		c := cs[n]
		f := correctionFile{To: c.To, Made: c.Made.UTC().Format(time.RFC3339), Lamps: c.Lamps, Left: c.Left, DX: c.DX, DY: c.DY, GainY: c.GainY}
		if c.M != nil {
			f.Matrix = c.M[:]
		}
		out.Probes[n] = f
	}
	text, err := yaml.Marshal(out)
	if err != nil {
		return err
	}
	head := []byte("# How the probes of this rig were brought into agreement (trueup feed align).\n")
	return maybe.WriteFile(path, append(head, text...), 0o644)
}
