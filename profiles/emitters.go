package profiles

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/profiles/law"
)

// Standard deviations, u'v' per axis, of what is left open by figures: units
// differ from the manual's figures by about a bin.
const (
	sigmaFigures  = 0.006
	sigmaPeak     = 0.012 // a wavelength says nothing of width and tail
	sigmaWhite    = 0.006
	lnFluxFigures = 0.15
)

func (r *reader) emitters(at string, m *Mode, raw []fileEmitter, common law.Curve) {
	d := r.doc
	given := make([]float64, len(raw))
	names := map[string]bool{}
	for i := range raw {
		f := &raw[i]
		here := fmt.Sprintf("%s.emitters[%d]", at, i)
		if f.Name != "" && names[f.Name] {
			d.Errorf(here+".name", "an emitter %q is there already", f.Name).Advise("number them: %s 2", f.Name)
		}
		names[f.Name] = true
		e := Emitter{Param: r.param(here, f.Name, m, &f.fileBase), Colour: f.Colour, Cap: 1}
		e.Curve = r.curve(here+".curve", f.Curve, common)
		r.colour(here, &e, f)
		r.cap(here, &e, f)
		if f.Flux != nil {
			given[i] = *f.Flux
		}
		m.Emitters = append(m.Emitters, e)
	}
	fluxes(m.Emitters, given)
}

// colour finds the chromaticity: from figures, from a spectrum, or from a word.
func (r *reader) colour(at string, e *Emitter, f *fileEmitter) {
	d := r.doc
	word := f.Colour
	if word == "" {
		word = f.Name
	}
	g, known := guessOf(word)
	if f.Colour != "" && !known {
		bad := d.Errorf(at+".colour", "%q is no colour word", f.Colour)
		if near := nearestColour(f.Colour); near != "" {
			bad.Advise("did you mean %q?", near)
		} else {
			bad.Advise("known: %s", strings.Join(ColourWords(), ", "))
		}
		return
	}
	if known {
		e.Colour, e.White, e.Blind = g.words[0], g.white, g.blind
		e.UV, e.SigmaUV, e.Flux, e.SigmaLnFlux = g.uv(), g.sigma, g.flux, lnFluxOfWord
	} else {
		e.Flux, e.SigmaLnFlux = 0.5, 0.8
	}
	ways := 0
	take := func(key string, uv colorcalc.UV, sigma float64) {
		if ways++; ways > 1 {
			d.Errorf(at+"."+key, "the colour of %s is given twice", f.Name).Advise("keep one of xy, uv, kelvin, dominant_nm, peak_nm")
		}
		e.UV, e.SigmaUV = uv, sigma
	}
	if uv := r.chroma(at, f.XY, f.UV, f.Kelvin, f.Duv); uv != nil {
		take("xy", *uv, sigmaFigures)
		if f.Kelvin != nil {
			e.SigmaUV, e.White = sigmaWhite, true
		}
	}
	if nm := f.DominantNM; nm != nil && !d.Failed(at+".dominant_nm") {
		take("dominant_nm", ofDominant(*nm), sigmaFigures)
		e.Blind = e.Blind || *nm <= blindBelow
	}
	if nm := f.PeakNM; nm != nil && !d.Failed(at+".peak_nm") {
		take("peak_nm", ofPeak(*nm), sigmaPeak)
		e.Blind = e.Blind || *nm <= blindBelow
	}
	if f.Spectrum != "" && !d.Failed(at+".spectrum") {
		if s, uv := r.spectrum(at+".spectrum", f.Spectrum, f.Name); s != nil {
			if ways == 0 { // else a colour was measured beside it, and better than a spectrum tells it
				take("spectrum", uv, sigmaFigures)
			}
			e.Spectrum = s
			e.Blind = e.Blind || s.XYZ(spectrum.Deg2).Y < blindEfficacy*s.Power()
		}
	}
	if f.Uncertainty != nil {
		e.SigmaUV = *f.Uncertainty
	}
	e.White = e.White || !known && whitish(e.UV)
	r.someColour(at, e, f)
}

// someColour wants something that says the colour of an emitter.
func (r *reader) someColour(at string, e *Emitter, f *fileEmitter) {
	d := r.doc
	if e.UV == (colorcalc.UV{}) && !d.Failed(at) && f.Name != "" && f.Spectrum == "" {
		bad := d.Errorf(at+".name", "%q is no colour word, and nothing else says the colour of this emitter", f.Name)
		if near := nearestColour(f.Name); near != "" {
			bad.Advise("did you mean %q? Or add \"colour:\" with such a word, or xy, kelvin, dominant_nm", near)
		} else {
			bad.Advise("add \"colour:\" with one of %s, or xy, kelvin, dominant_nm", strings.Join(ColourWords(), ", "))
		}
	}
}

// whitish reports whether a chromaticity passes for white light: within Duv
// 0.015 of the black body between 2000 and 12000 K.
func whitish(c colorcalc.UV) bool {
	k, d, err := colorcalc.CCT(c.XY())
	return err == nil && k >= 2000 && k <= 12000 && math.Abs(float64(d)) <= 0.015
}

// blindEfficacy, in lm/W of radiation, is that of a narrow emitter at
// blindBelow: 683 lm/W times 0.0116. An emitter with less is hardly seen.
const blindEfficacy = 8

// spectrum reads an emitter's spectrum file, and its colour; nil: it can not be used. Of a file with several spectra it
// is the column headed by the emitter's name.
func (r *reader) spectrum(at, name, emitter string) (*spectrum.Spectrum, colorcalc.UV) {
	none := colorcalc.UV{}
	if r.open == nil {
		r.doc.Errorf(at, "there is no folder to look for the spectrum file %q in", name)
		return nil, none
	}
	data, err := r.open(name)
	if err != nil {
		r.doc.Errorf(at, "spectrum file %q: %v", name, err).Advise("put it beside the profile")
		return nil, none
	}
	files, err := spectrum.Read(bytes.NewReader(data))
	if err != nil {
		r.doc.Errorf(at, "spectrum file %q: %v", name, err)
		return nil, none
	}
	k := 0
	if len(files) > 1 {
		k = slices.IndexFunc(files, func(f spectrum.File) bool { return strings.EqualFold(f.Name, emitter) })
	}
	if k < 0 {
		r.doc.Errorf(at, "spectrum file %q has %d spectra and none is headed %q", name, len(files), emitter).
			Advise("name a file with one spectrum, or head the column of this emitter with its name")
		return nil, none
	}
	xy, err := files[k].XY()
	if err != nil {
		r.doc.Errorf(at, "spectrum file %q: %v", name, err)
		return nil, none
	}
	return &files[k].Spectrum, xy.UV()
}

func (r *reader) cap(at string, e *Emitter, f *fileEmitter) {
	switch {
	case f.CapPercent != nil:
		e.Cap = *f.CapPercent / 100
		if e.Cap < 1 {
			e.CapWhy = "as the profile says (cap_percent)"
		}
		if e.Cap*float64(e.Hi-e.Lo) < 1 && !r.doc.Failed(at+".cap_percent") {
			r.doc.Errorf(at+".cap_percent", "%g %% is less than one step of the emitter", *f.CapPercent).
				Advise("leave an emitter that must stay dark out, and put its slot under \"set:\" at 0")
		}
	case e.Blind:
		e.Cap, e.CapWhy = blindCap, blindWhy
	}
}

// fluxes puts given figures and guesses on one scale: guesses are scaled by the
// median ratio of what is given to what would have been guessed.
func fluxes(all []Emitter, given []float64) {
	var ratios []float64
	for i, v := range given {
		if v > 0 && all[i].Flux > 0 {
			ratios = append(ratios, math.Log(v/all[i].Flux))
		}
	}
	if len(ratios) == 0 {
		return
	}
	slices.Sort(ratios)
	scale := math.Exp(ratios[len(ratios)/2])
	for i := range all {
		if given[i] > 0 {
			all[i].Flux, all[i].SigmaLnFlux = given[i], lnFluxFigures
		} else {
			all[i].Flux *= scale
		}
	}
}
