package quality

import (
	"errors"
	"fmt"
	"math"

	"trueup/colorcalc"
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
	*viewed
	parts [][Samples + 2]colorcalc.XYZ // of every emitter at full drive
	forms []float64                    // Samples forms, packed
}

// ErrMixing says that emitters, reference and observers give nothing to choose from.
var ErrMixing = errors.New("quality: no mixing")

// NewMixing prepares the mixes of up to any number of emitters. Errors: a broken spectrum, no
// light, ErrCamera, ErrMixing without emitters or observers.
func NewMixing(reference spectrum.Spectrum, emitters []Emitter, observers ...Observer) (*Mixing, error) {
	v, err := NewView(reference, observers...)
	if err != nil {
		return nil, err
	}
	return v.Mixing(emitters)
}

// Mixing prepares the mixes of emitters beside the reference. Errors: a broken spectrum, no light, ErrMixing without emitters.
func (v *View) Mixing(emitters []Emitter) (*Mixing, error) {
	if len(emitters) == 0 {
		return nil, fmt.Errorf("%w: no emitters", ErrMixing)
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
	for i := range v.observers {
		o := &v.observers[i]
		parts := o.parts(lights)
		m.observers = append(m.observers, mixed{o, parts, o.forms(parts)})
	}
	return m, nil
}

// Emitters is their number.
func (m *Mixing) Emitters() int { return m.emitters }

// Observers are their names, in the order given.
func (m *Mixing) Observers() []string {
	names := make([]string, len(m.observers))
	for i, o := range m.observers {
		names[i] = o.Name
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
		s := seen{ref: o.ref}
		for j, p := range drives {
			for k, c := range o.parts[j] {
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
	m.quadratics(dst, products(shape))
	for i, v := range dst {
		dst[i] = math.Sqrt(max(v, 0))
	}
}

// Chord fills dst, observers x Samples, with the coefficients c of the squares of what Predict tells along the chord from one
// shape to another: at the part f of the way c[0] + f c[1] + f f c[2].
func (m *Mixing) Chord(dst [][3]float64, from, to []float64) {
	one := make([]float64, len(dst))
	way := make([]float64, len(from))
	for j := range way {
		way[j] = to[j] - from[j]
	}
	here, there := products(from), products(way)
	cross := make([]float64, 0, len(here)) // of from and the way, both orders
	for a := range from {
		for b := a; b < len(from); b++ {
			cross = append(cross, from[a]*way[b]+way[a]*from[b])
		}
	}
	for c, z := range [3][]float64{here, cross, there} {
		m.quadratics(one, z)
		for i, v := range one {
			dst[i][c] = v
		}
	}
}

// quadratics fills dst, observers x Samples, with the forms of products.
func (m *Mixing) quadratics(dst, products []float64) {
	n := len(products)
	for i := range m.observers {
		forms := m.observers[i].forms
		for k := range Samples {
			f := forms[k*n:][:n]
			var s0, s1 float64 // two lanes: the processor need not wait for each addition
			c := 0
			for ; c+1 < n; c += 2 {
				s0 += f[c] * products[c]
				s1 += f[c+1] * products[c+1]
			}
			if c < n {
				s0 += f[c] * products[c]
			}
			dst[i*Samples+k] = s0 + s1
		}
	}
}

// Form fills h, emitters x emitters, row by row, with the weighted mean of the forms: shape' h
// shape is the mean square of the differences that Predict tells.
// weights are observers x Samples; nil weighs all alike.
func (m *Mixing) Form(h, weights []float64) {
	n := packed(m.emitters)
	total := make([]float64, n)
	sum := 0.0
	for i := range m.observers {
		forms := m.observers[i].forms
		for k := range Samples {
			w := 1.0
			if weights != nil {
				w = weights[i*Samples+k]
			}
			sum += w
			for c, v := range forms[k*n : (k+1)*n] {
				total[c] += w * v
			}
		}
	}
	at := 0
	for a := range m.emitters {
		for b := a; b < m.emitters; b++ {
			v := total[at] / sum
			if a != b {
				v /= 2
			}
			h[a*m.emitters+b], h[b*m.emitters+a] = v, v
			at++
		}
	}
}
