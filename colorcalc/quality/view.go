package quality

import (
	"fmt"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// View is a reference light as a set of observers sees it: all of a Mixing that does not depend on the
// emitters. It is safe for concurrent use.
type View struct{ observers []viewed }

// viewed is what one observer sees of the reference, as XYZ.
type viewed struct {
	Observer
	ref       [Samples + 2]colorcalc.XYZ
	developed *development // of a camera, balanced on the reference; nil: an eye
	metrics   []metric     // of every sample
}

// metric tells the square of a small difference of a sample from that under the reference: of byColour d for a step d in XYZ.
// For an eye that adapts the rows are those of J'a'b', and byWhite is its share for a step of the white.
type metric struct{ byColour, byWhite [9]float64 }

// NewView looks at a reference. Errors: a broken spectrum, no light, ErrCamera, ErrMixing without observers.
func NewView(reference spectrum.Spectrum, observers ...Observer) (*View, error) {
	if len(observers) == 0 {
		return nil, fmt.Errorf("%w: no observers", ErrMixing)
	}
	ref, err := take(reference)
	if err != nil {
		return nil, fmt.Errorf("reference: %w", err)
	}
	one := dot(ref, &shared().obs2[1])
	for i := range ref {
		ref[i] /= one
	}
	v := &View{}
	for _, o := range observers {
		x := viewed{Observer: o, ref: o.samples().see(ref, ref).ref}
		if o.cam != nil {
			if x.developed, err = balance(&x.ref, &cesSamples2().see(ref, ref).ref); err != nil {
				return nil, fmt.Errorf("%s: %w", o.Name, err)
			}
			x.developed.apply(&x.ref)
		}
		if err := x.measure(); err != nil {
			return nil, fmt.Errorf("%s: %w", o.Name, err)
		}
		v.observers = append(v.observers, x)
	}
	return v, nil
}

// samples are those that the observer looks at.
func (o Observer) samples() *observed {
	switch {
	case o.cam != nil:
		return o.cam.seen
	case o.deg == spectrum.Deg10:
		return cesSamples()
	}
	return cesSamples2()
}

// parts are what the observer sees of every light, two at a time.
func (x *viewed) parts(lights []light) [][Samples + 2]colorcalc.XYZ {
	out := make([][Samples + 2]colorcalc.XYZ, len(lights))
	for j := 0; j < len(lights); j += 2 {
		next := min(j+1, len(lights)-1)
		s := x.samples().see(&lights[j], &lights[next])
		out[j], out[next] = s.test, s.ref
	}
	if x.developed != nil {
		for j := range out {
			x.developed.apply(&out[j])
		}
	}
	return out
}

// measure prepares the metrics.
func (x *viewed) measure() error {
	white := x.ref[seenWhite]
	if !(white.X > 0 && white.Y > 0 && white.Z > 0) {
		return fmt.Errorf("%w: no white of the reference", ErrCamera)
	}
	x.metrics = make([]metric, Samples)
	for i := range x.metrics {
		m := &x.metrics[i]
		if x.adapted {
			k := 100 / white.Y
			m.byColour, m.byWhite = slopes(x.ref[i].Scale(k), white.Scale(k))
			continue
		}
		var err error
		if m.byColour, err = metricXYZ(x.ref[i].Scale(1/white.Y), white.Scale(1/white.Y)); err != nil {
			return err
		}
	}
	return nil
}

// forms are the quadratic forms of every sample, each packed as quadratic reads it. A mix p of luma l.p is seen as B p;
// scaled to the luma of the reference its difference to x, the sample under the reference, is (B - x l) p, and CIEDE2000 near x is the
// square root of a form in it. To an eye that adapts the difference is (Jx (B - x l) + Jw (W - w l)) p, W and w those of the white.
func (x *viewed) forms(parts [][Samples + 2]colorcalc.XYZ) []float64 {
	top := 1.0
	if x.adapted {
		top = 100
	}
	k := top / x.ref[seenWhite].Y
	rest := func(j, sample int) [3]float64 {
		t := &parts[j]
		c := t[sample].Scale(k).Sub(x.ref[sample].Scale(k * k / top * t[seenWhite].Y))
		return [3]float64{c.X, c.Y, c.Z}
	}
	out := make([]float64, 0, Samples*packed(len(parts)))
	rows, seen := make([][3]float64, len(parts)), make([][3]float64, len(parts))
	for i := range x.metrics {
		m := &x.metrics[i]
		for j := range parts {
			rows[j] = rest(j, i)
			if x.adapted {
				a, w := times3(&m.byColour, rows[j]), times3(&m.byWhite, rest(j, seenWhite))
				rows[j] = [3]float64{a[0] + w[0], a[1] + w[1], a[2] + w[2]}
				seen[j] = rows[j]
			} else {
				seen[j] = times3(&m.byColour, rows[j])
			}
		}
		for a := range parts {
			for b := a; b < len(parts); b++ {
				v := rows[a][0]*seen[b][0] + rows[a][1]*seen[b][1] + rows[a][2]*seen[b][2]
				if a != b {
					v *= 2
				}
				out = append(out, v)
			}
		}
	}
	return out
}

func times3(m *[9]float64, v [3]float64) [3]float64 {
	a, b, c := apply3(m, v[0], v[1], v[2])
	return [3]float64{a, b, c}
}

// packed is the length of a form of n emitters: its upper triangle row by row, what is off the diagonal twice.
func packed(n int) int { return n * (n + 1) / 2 }

// products are those of every pair of z, as a packed form takes them.
func products(z []float64) []float64 {
	out := make([]float64, 0, packed(len(z)))
	for a := range z {
		for b := a; b < len(z); b++ {
			out = append(out, z[a]*z[b])
		}
	}
	return out
}
