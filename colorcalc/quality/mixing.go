package quality

import (
	"errors"
	"fmt"
	"math"

	"trueup/colorcalc/spectrum"
)

// Observer is an eye or a camera that looks at two lights.
type Observer struct {
	Name string
	deg  spectrum.Observer
	cam  *Camera
	// adapted: the eye adapts to each light by itself, and differences are those of CAM02-UCS.
	adapted bool
}

// Eye is the CIE observer of 2 or 10 degrees.
func Eye(o spectrum.Observer) Observer {
	if o == spectrum.Deg10 {
		return Observer{Name: "CIE 10 degrees", deg: o}
	}
	return Observer{Name: "CIE 2 degrees", deg: o}
}

// Observer is the camera as one that looks at two lights, balanced on the reference.
func (c *Camera) Observer(name string) Observer { return Observer{Name: name, cam: c} }

// look is what the observer sees of the samples under both lights, as XYZ.
func (o Observer) look(test, ref *light) (*seen, error) {
	switch {
	case o.cam != nil:
		s := o.cam.seen.see(test, ref)
		return s, s.develop(cesSamples2().see(test, ref))
	case o.deg == spectrum.Deg10:
		return cesSamples().see(test, ref), nil
	}
	return cesSamples2().see(test, ref), nil
}

// Emitter is one of the lights that are mixed.
type Emitter struct {
	Spectrum  spectrum.Spectrum // only its shape counts
	Luminance float64           // at full drive, in any unit that all emitters share
}

// Mixing is how mixes of emitters look beside a reference, to a set of observers. What an
// observer sees of a mix is the sum of what it sees of the emitters, so all of it is
// computed once. It is safe for concurrent use.
type Mixing struct {
	emitters  int
	observers []mixed
}

// mixed is what one observer sees.
type mixed struct {
	name    string
	adapted bool
	parts   []seen             // of every emitter at full drive
	forms   [Samples][]float64 // emitters x emitters, row by row
}

// ErrMixing says that emitters, reference and observers give nothing to choose from.
var ErrMixing = errors.New("quality: no mixing")

// NewMixing prepares the mixes of up to any number of emitters. Errors: a broken spectrum, no
// light, ErrCamera, ErrMixing without emitters or observers.
func NewMixing(reference spectrum.Spectrum, emitters []Emitter, observers ...Observer) (*Mixing, error) {
	if len(emitters) == 0 || len(observers) == 0 {
		return nil, fmt.Errorf("%w: %d emitters and %d observers", ErrMixing, len(emitters), len(observers))
	}
	ref, err := take(reference)
	if err != nil {
		return nil, fmt.Errorf("reference: %w", err)
	}
	m := &Mixing{emitters: len(emitters)}
	top := 0.0
	for _, e := range emitters {
		top = max(top, e.Luminance)
	}
	lights := make([]light, len(emitters))
	for j, e := range emitters {
		l, err := take(e.Spectrum)
		if err != nil {
			return nil, fmt.Errorf("emitter %d: %w", j+1, err)
		}
		if !(e.Luminance > 0) {
			return nil, fmt.Errorf("emitter %d: %w", j+1, spectrum.ErrNoLight)
		}
		k := e.Luminance / top / dot(l, &shared().obs2[1])
		for i := range l {
			lights[j][i] = k * l[i]
		}
	}
	one := dot(ref, &shared().obs2[1])
	for i := range ref {
		ref[i] /= one
	}
	for _, o := range observers {
		x := mixed{name: o.Name, adapted: o.adapted, parts: make([]seen, len(emitters))}
		for j := range lights {
			s, err := o.look(&lights[j], ref)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", o.Name, err)
			}
			x.parts[j] = *s
		}
		form := x.form
		if x.adapted {
			form = x.formAdapted
		}
		if err := form(); err != nil {
			return nil, fmt.Errorf("%s: %w", o.Name, err)
		}
		m.observers = append(m.observers, x)
	}
	return m, nil
}

// Emitters is their number.
func (m *Mixing) Emitters() int { return m.emitters }

// Observers are their names, in the order given.
func (m *Mixing) Observers() []string {
	names := make([]string, len(m.observers))
	for i, o := range m.observers {
		names[i] = o.name
	}
	return names
}

// Judge says what every observer sees of a mix: drives are fractions of the emitters' full light,
// their scale drops out. Errors: another number of drives, no light.
func (m *Mixing) Judge(drives []float64) ([]*Differences, error) {
	if len(drives) != m.emitters {
		return nil, fmt.Errorf("%w: %d drives for %d emitters", ErrMixing, len(drives), m.emitters)
	}
	out := make([]*Differences, len(m.observers))
	for i := range m.observers {
		o := &m.observers[i]
		s := seen{ref: o.parts[0].ref}
		for j, p := range drives {
			for k, c := range o.parts[j].test {
				s.test[k] = s.test[k].Add(c.Scale(p))
			}
		}
		compare := s.differences
		if o.adapted {
			compare = s.appearances
		}
		d, err := compare()
		if err != nil {
			return nil, err
		}
		out[i] = d
	}
	return out, nil
}

// Predict fills dst, observers x Samples, with the difference of every sample by the quadratic
// forms: near CIEDE2000 where it is small. shape is drives that together give
// the luminance of the brightest emitter.
func (m *Mixing) Predict(dst, shape []float64) {
	for i := range m.observers {
		for k, h := range m.observers[i].forms {
			dst[i*Samples+k] = math.Sqrt(max(quadratic(h, shape), 0))
		}
	}
}

// Form fills h, emitters x emitters, row by row, with the weighted mean of the forms: shape' h
// shape is the mean square of the differences that Predict tells.
// weights are observers x Samples; nil weighs all alike.
func (m *Mixing) Form(h, weights []float64) {
	clear(h)
	sum := 0.0
	for i := range m.observers {
		for k, f := range m.observers[i].forms {
			w := 1.0
			if weights != nil {
				w = weights[i*Samples+k]
			}
			sum += w
			for c, v := range f {
				h[c] += w * v
			}
		}
	}
	for c := range h {
		h[c] /= sum
	}
}

// form prepares the quadratic form of every sample. A mix p of luma l.p is seen as B p; scaled to
// the luma of the reference its difference to x, the sample under the reference, is (B - x l) p, and
// CIEDE2000 near x is the square root of a form in Lab.
func (o *mixed) form() error {
	n := len(o.parts)
	white := o.parts[0].ref[seenWhite]
	if !(white.X > 0 && white.Y > 0 && white.Z > 0) {
		return fmt.Errorf("%w: no white of the reference", ErrCamera)
	}
	one := white.Scale(1 / white.Y)
	for i := range Samples {
		x := o.parts[0].ref[i].Scale(1 / white.Y)
		metric, err := metricXYZ(x, one)
		if err != nil {
			return err
		}
		rows := make([][3]float64, n)
		for j := range o.parts {
			t := &o.parts[j].test
			c := t[i].Scale(1 / white.Y).Sub(x.Scale(t[seenWhite].Y / white.Y))
			rows[j] = [3]float64{c.X, c.Y, c.Z}
		}
		h := make([]float64, n*n)
		for a := range n {
			for b := range n {
				for r := range 3 {
					for c := range 3 {
						h[a*n+b] += rows[a][r] * metric[3*r+c] * rows[b][c]
					}
				}
			}
		}
		o.forms[i] = h
	}
	return nil
}

// quadratic is z' h z, h row by row.
func quadratic(h, z []float64) (sum float64) {
	for a, za := range z {
		for b, zb := range z {
			sum += za * h[a*len(z)+b] * zb
		}
	}
	return sum
}
