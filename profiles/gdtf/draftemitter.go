package gdtf

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/profiles/law"
)

// Standard deviations, per axis of u'v', of what a file claims of an emitter:
// a typed-in colour is a rounded nominal one; a mixing fixture's own red is any
// red.
const (
	sigmaColor    = 0.015
	sigmaIndirect = 0.06
)

// emitter drafts one emitter, from the best that the file has: a measured
// spectrum, a colour, a dominant wavelength, or the attribute's name alone.
func (d *drafter) emitter(out *outMode, m *Mode, c *Channel, f *Function, p outParam, at string) {
	attribute := strings.TrimRight(f.Attribute, "0123456789")
	e := outEmitter{outParam: p}
	path := fmt.Sprintf("%s.emitters[%d]", at, len(out.Emitters))
	code := strings.TrimPrefix(attribute, "ColorAdd_")
	word := emitterWords[code]
	name := word
	if name == "" {
		name = between[code].name
	}
	indirect := strings.HasPrefix(attribute, "ColorRGB_")
	if indirect {
		word = strings.ToLower(strings.TrimPrefix(attribute, "ColorRGB_"))
		name = word
		e.Uncertainty = sigmaIndirect
	}
	e.Name = free(name, func(n string) bool {
		for _, o := range out.Emitters {
			if o.Name == n {
				return true
			}
		}
		return false
	})
	src := d.ft.emitterNamed(f.Emitter)
	if !indirect {
		d.colourOf(&e, src, word, code, path)
	}
	// The trade's word stands in for what is not known, and says what the
	// light is where the name does not.
	if word != e.Name && word != "" {
		e.Colour = word
	}
	if src != nil && src.Y > 0 && !indirect {
		e.Flux = round(src.Y, 5)
		d.say(path+".flux", "as the file claims, beside the other emitters")
	}
	if src != nil && len(src.Curve) >= 2 {
		e.Curve = lawOf(src.Curve)
		if e.Curve != "" {
			d.say(path+".curve", "the nearest law to %d points in the file", len(src.Curve))
		}
	}
	out.Emitters = append(out.Emitters, e)
}

// colourOf fills in the chromaticity and says where it is from.
func (d *drafter) colourOf(e *outEmitter, src *Emitter, word, code, path string) {
	if word == "uv" {
		d.say(path+".name", "UV: kept almost dark, and out of matching, unless a person says otherwise")
		return
	}
	if src != nil && len(src.Spectrum) > 0 {
		if xy, err := chromaticity(src.Spectrum); err == nil {
			e.XY = []float64{round(xy.X, 4), round(xy.Y, 4)}
			d.say(path+".xy", "from the spectrum in the file (%d points)", len(src.Spectrum))
			return
		}
	}
	switch {
	case src != nil && src.Color.Valid():
		e.XY = []float64{round(src.Color.X, 4), round(src.Color.Y, 4)}
		e.Uncertainty = sigmaColor
		d.say(path+".xy", "typed into the file, not measured")
	case src != nil && src.Dominant >= 400 && src.Dominant <= 690 && word != "white" && !strings.HasSuffix(word, " white"):
		e.DominantNM = src.Dominant
		d.say(path+".dominant_nm", "from the file")
	default:
		if b, ok := between[code]; ok {
			e.XY, e.Uncertainty = []float64{b.xy.X, b.xy.Y}, sigmaIndirect
		}
		d.say(path+".name", "GUESS: the file says nothing of its colour; the word alone gives a wide first guess")
	}
}

func (ft *FixtureType) emitterNamed(name string) *Emitter {
	// References are by name, joined with dots from a starting point.
	if i := strings.LastIndex(name, "."); i >= 0 {
		name = name[i+1:]
	}
	for i := range ft.Emitters {
		if name != "" && ft.Emitters[i].Name == name {
			return &ft.Emitters[i]
		}
	}
	return nil
}

// chromaticity integrates a spectrum with the 2 degree observer. Wide gaps are
// dark: a file may leave out where there is no light.
func chromaticity(s []Sample) (colorcalc.XY, error) {
	const gap = 12 // nm; measurements are at most 4 nm apart, 10 is seen
	var nm, w []float64
	add := func(n, p float64) {
		if len(nm) > 0 && n <= nm[len(nm)-1] {
			return // a wavelength given twice
		}
		nm, w = append(nm, n), append(w, p)
	}
	for i, p := range s {
		if i > 0 && p.NM-s[i-1].NM > gap {
			add(s[i-1].NM+1, 0)
			add(p.NM-1, 0)
		}
		add(p.NM, p.Power)
	}
	sp, err := spectrum.FromLines(nm, w)
	if err != nil {
		return colorcalc.XY{}, err
	}
	xy, err := sp.XY()
	if err == nil && !xy.Valid() {
		err = fmt.Errorf("the spectrum has no light")
	}
	return xy, err
}

// lawOf names the law that a claimed response keeps to within 3 % of full, or
// nothing.
func lawOf(points []Measured) string {
	const within = 0.03
	for _, l := range []law.Law{law.Linear, law.Square} {
		strays := func(p Measured) bool { return math.Abs(p.Light-law.Curve{Law: l}.Light(p.Level)) > within }
		if !slices.ContainsFunc(points, strays) {
			return l.String()
		}
	}
	return ""
}

func round(v float64, digits int) float64 {
	k := math.Pow(10, float64(digits))
	return math.Round(v*k) / k
}
