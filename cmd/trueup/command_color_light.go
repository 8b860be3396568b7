package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"strconv"
	"strings"

	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
)

// showLight says how well things look under a light of known spectrum. What
// the standards do not define for it is said, not left out.
func (o *colorOptions) showLight(w io.Writer, n namedColour) error {
	f := n.light
	fmt.Fprintf(w, "\n%s: %.0f to %.0f nm in steps of %.4g nm, peak at %.0f nm\n", n.Text, f.StartNM, f.EndNM(), f.StepNM, f.PeakNM)
	if f.MissingNM > 0.5 {
		fmt.Fprintf(w, "  note: %.0f of the 400 nm between 380 and 780 nm are missing and count as dark\n", f.MissingNM)
	}
	if f.StepNM > 5.01 {
		fmt.Fprintf(w, "  note: steps of %.3g nm are coarser than the 5 nm of the standards: figures of lights with sharp lines are rough\n", f.StepNM)
	}
	if f.Quantity == "transmittance" || f.Quantity == "reflectance" {
		fmt.Fprintf(w, "  note: the file holds a %s, not a light; the figures are those of an equal-energy light behind it\n", f.Quantity)
	}
	if err := showRendering(w, f.Spectrum); err != nil {
		return err
	}
	if err := showFidelity(w, f.Spectrum); err != nil {
		return err
	}
	if t, err := quality.TLCI(f.Spectrum); err == nil {
		fmt.Fprintf(w, "  TLCI-2012    Qa %.0f\n", t.Qa)
	}
	ref, name, err := o.ssiReference(f.Spectrum)
	if errors.Is(err, quality.ErrNoReference) {
		fmt.Fprintln(w, "  SSI          no reference by itself: name one with --ssi")
		return nil
	}
	if err != nil {
		return err
	}
	v, err := quality.SSI(f.Spectrum, ref)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "  SMPTE 2122   SSI[%s] %d\n", name, quality.RoundSSI(v))
	return nil
}

func showRendering(w io.Writer, s spectrum.Spectrum) error {
	r, err := quality.CRI(s)
	if errors.Is(err, quality.ErrNoReference) {
		fmt.Fprintln(w, "  CIE 13.3     no colour temperature, so no reference: not defined")
		return nil
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "  CIE 13.3     Ra %.0f", math.Round(r.Ra)+0)
	for i, v := range r.R {
		fmt.Fprintf(w, "  R%d %.0f", i+1, math.Round(v)+0)
	}
	fmt.Fprintln(w)
	if !r.Meaningful() {
		fmt.Fprintf(w, "               without meaning: the light is %.4f from its reference in uv, more than %.4f\n", r.DC, quality.MaxDC)
	}
	return nil
}

func showFidelity(w io.Writer, s spectrum.Spectrum) error {
	f, err := quality.TM30(s)
	if errors.Is(err, quality.ErrNoReference) {
		fmt.Fprintln(w, "  IES TM-30    no colour temperature, so no reference: not defined")
		return nil
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "  IES TM-30    Rf %.0f  Rg %.0f", f.Rf, f.Rg)
	fmt.Fprintf(w, "  red: fidelity %.0f, chroma %+.0f %%, hue %+.2f\n", f.RfH[0], math.Round(f.RcsH[0])+0, f.RhsH[0])
	return nil
}

// ssiReference finds the reference of the spectral similarity and its name.
func (o *colorOptions) ssiReference(s spectrum.Spectrum) (spectrum.Spectrum, string, error) {
	if o.reference == "" {
		return quality.SSIReference(s)
	}
	return namedLight("--ssi", o.reference)
}

// namedLight finds the light that a flag names: an illuminant, P or D with a
// temperature, or a file that holds one spectrum or more, of which the first counts.
func namedLight(flag, name string) (spectrum.Spectrum, string, error) {
	if ref, ok := spectrum.Illuminant(name); ok {
		return ref, strings.ToUpper(name), nil
	}
	if kelvin, err := strconv.ParseFloat(strings.TrimSuffix(strings.ToUpper(name[1:]), "K"), 64); err == nil {
		g := spectrum.Visible1
		switch name[0] {
		case 'P', 'p':
			ref, err := spectrum.Planck(colorcalc.Kelvin(kelvin), g)
			return ref, strings.ToUpper(name), err
		case 'D', 'd':
			ref, err := spectrum.Daylight(colorcalc.Kelvin(kelvin), g)
			return ref, strings.ToUpper(name), err
		}
	}
	files, err := readSpectra(name)
	if errors.Is(err, fs.ErrNotExist) {
		return spectrum.Spectrum{}, "", fmt.Errorf("%s %q is no illuminant, no P or D with kelvin, and no file", flag, name)
	}
	if err != nil {
		return spectrum.Spectrum{}, "", err
	}
	return files[0].Spectrum, name, nil
}
