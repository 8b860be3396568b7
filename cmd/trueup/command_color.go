package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"trueup/colorcalc"
	"trueup/colorcalc/expr"
	"trueup/colorcalc/spectrum"
	"trueup/profiles/userfile"
)

type colorOptions struct {
	spectra   []string // files
	reference string   // of the spectral similarity
	against   string   // the light that the spectra are compared with
	camera    string   // file of its sensitivities
	mix       bool     // the spectra are emitters of one lamp
	json      bool
}

func newColorCommand() *cobra.Command {
	var o colorOptions
	c := &cobra.Command{
		Use:     "color [EXPR...]",
		Aliases: []string{"colour"},
		Short:   "Show a colour in all quantities, or compare several with the first",
		Long: `Show a colour in all quantities, or compare several with the first.

A colour is named as everywhere in this program:
  5600K   "5600K +0.002"   "179 mired"   D65   D5600   A   FL11   LED-B3
  "xy 0.3127 0.3290"   "uv 0.1978 0.4683" (CIE 1976)   "XYZ 95 100 109"
  "hs 30deg 60% in BT.709"   "rgb 1 0.5 0.2 in P3-D65"   #ff8800

With --spectrum a file is measured up: CSV (wavelength in nm, then one column
for each light) or IES TM-27 XML.

With --against every spectrum is compared with that of a reference light: how
alike both are to cameras and eyes, though a meter may call them equal. Everything
is set on the reference, so the other way round the figures are others. --camera
describes a camera: CSV of wavelength in nm and three columns of sensitivity.

With --mix the spectra are the emitters of one fixture, each at full drive: of all mixes
that a meter calls equal to the reference, which looks most like it, and what that
costs in light.`,
		Example: `  trueup color 5600K
  trueup color D65 "6504K +0.003" "xy 0.31 0.33"
  trueup color --spectrum wash.csv --ssi P3200
  trueup color --spectrum panel.csv --against house.csv --camera camera.csv
  trueup color --spectrum emitters.csv --mix --against house.csv`,
		RunE: func(c *cobra.Command, args []string) error { return o.run(c, args) },
	}
	c.Flags().StringArrayVar(&o.spectra, "spectrum", nil, "spectrum `FILE`: its colour and the quality of its light (may be repeated)")
	c.Flags().StringVar(&o.reference, "ssi", "", "`REFERENCE` of the spectral similarity: an illuminant, P3200, D5600 or a spectrum file (default by CCT)")
	c.Flags().StringVar(&o.against, "against", "", "`REFERENCE` light, named as for --ssi: how alike the spectra are to it")
	c.Flags().StringVar(&o.camera, "camera", "", "`FILE` of a camera's sensitivities, to compare for that camera")
	c.Flags().BoolVar(&o.mix, "mix", false, "the spectra are emitters of one fixture: the mixes most like --against, and their price in light")
	c.Flags().BoolVar(&o.json, "json", false, "print JSON, not rounded")
	return c
}

// namedColour is one colour of the table.
type namedColour struct {
	expr.Color
	light *spectrum.File // where it came from a file
}

func (o *colorOptions) run(c *cobra.Command, args []string) error {
	if len(args) == 0 && len(o.spectra) == 0 && !o.mix {
		return usageError("name a colour, for example: trueup color 5600K (see --help)")
	}
	if o.reference != "" && len(o.spectra) == 0 {
		return usageError("--ssi compares spectra: give one with --spectrum")
	}
	if err := o.checkAgainst(args); err != nil {
		return err
	}
	all, err := o.gather(c, args)
	if err != nil {
		return err
	}
	out := c.OutOrStdout()
	if o.mix {
		if err := o.mixLights(out, all); err != nil {
			return &exitError{exitNotAll, err}
		}
		return nil
	}
	if o.against != "" {
		if err := o.compareLights(out, all); err != nil {
			return &exitError{exitNotAll, err}
		}
		return nil
	}
	if o.json {
		if err := o.writeJSON(out, all); err != nil {
			return &exitError{exitNotAll, err}
		}
		return nil
	}
	if len(all) == 1 {
		showColour(out, all[0].Color)
	} else {
		compareColours(out, all)
	}
	for _, n := range all {
		if n.light == nil {
			continue
		}
		if err := o.showLight(out, n); err != nil {
			return &exitError{exitNotAll, err}
		}
	}
	return nil
}

// gather reads the colours and the spectra that were named.
func (o *colorOptions) gather(c *cobra.Command, args []string) ([]namedColour, error) {
	var all []namedColour
	for _, a := range args {
		col, err := expr.Parse(a)
		if err != nil {
			return nil, colourError(c.ErrOrStderr(), err)
		}
		all = append(all, namedColour{Color: col})
	}
	for _, path := range o.spectra {
		files, err := readSpectra(path)
		if err != nil {
			return nil, &exitError{exitNotAll, err}
		}
		for i := range files {
			xy, err := files[i].XY()
			if err != nil {
				return nil, &exitError{exitNotAll, fmt.Errorf("%s: %w", path, err)}
			}
			all = append(all, namedColour{expr.Color{Text: spectrumName(path, &files[i], len(files)), XY: xy}, &files[i]})
		}
	}
	return all, nil
}

// colourError shows where in an expression the fault is.
func colourError(w io.Writer, err error) error {
	var e *expr.Error
	if !errors.As(err, &e) {
		return &exitError{exitUsage, err}
	}
	fmt.Fprintf(w, "error: %s\n", e.Msg)
	for line := range strings.Lines(e.Excerpt()) {
		fmt.Fprintf(w, "  %s\n", strings.TrimRight(line, "\n"))
	}
	if e.Hint != "" {
		fmt.Fprintf(w, "hint: %s\n", e.Hint)
	}
	return &exitError{exitUsage, nil}
}

func readSpectra(path string) ([]spectrum.File, error) {
	f, err := userfile.Open(path, userfile.Spectrum)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	files, err := spectrum.Read(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return files, nil
}

func spectrumName(path string, f *spectrum.File, of int) string {
	if f.Name == "" || of == 1 {
		return path
	}
	return path + " " + f.Name
}

// whiteText gives temperature and tint, or says why there is none.
func whiteText(c colorcalc.XY) string {
	t, d, err := colorcalc.CCT(c)
	switch {
	case errors.Is(err, colorcalc.ErrFarFromLocus):
		return fmt.Sprintf("none: Duv %s is too far from the Planckian locus", d.Text())
	case err != nil:
		return "none between 1000 and 25000 K"
	}
	text := fmt.Sprintf("%.0f K  Duv %s", float64(t), d.Text())
	if w := colorcalc.TintWords(d); w != "" {
		text += ", " + w
	}
	return text
}

func showColour(w io.Writer, c expr.Color) {
	line := func(name, format string, args ...any) {
		fmt.Fprintf(w, "  %-12s %s\n", name, fmt.Sprintf(format, args...))
	}
	uv, uv60 := c.XY.UV(), c.XY.UV60()
	fmt.Fprintln(w, c.Text)
	line("x, y", "%.4f, %.4f", c.XY.X, c.XY.Y)
	line("u', v'", "%.4f, %.4f", uv.U, uv.V)
	line("u, v (1960)", "%.4f, %.4f", uv60.U, uv60.V)
	line("CCT", "%s", whiteText(c.XY))
	if t, _, err := colorcalc.CCT(c.XY); err == nil {
		line("mired", "%.1f", float64(t.Mired()))
	}
	y := c.Y
	if y == 0 {
		y = 100
	}
	xyz := c.XY.XYZ(y)
	line("X, Y, Z", "%.4g, %.4g, %.4g", xyz.X, xyz.Y, xyz.Z)
	if c.Y > 0 {
		line("level", "%.6g (lux or cd/m2, as it was given)", c.Y)
	}
	for _, s := range []*colorcalc.RGBSpace{colorcalc.BT709, colorcalc.P3D65, colorcalc.BT2020} {
		line(s.Name, "%s", rgbText(s, c.XY))
	}
}

// rgbText gives hue and saturation in a space, and the hex colour that a page
// would show, both at full level.
func rgbText(s *colorcalc.RGBSpace, c colorcalc.XY) string {
	v := s.RGB(c.XYZ(1))
	top := max(v.R, v.G, v.B)
	v = colorcalc.RGB{R: v.R / top, G: v.G / top, B: v.B / top}
	if min(v.R, v.G, v.B) < -1e-6 {
		return fmt.Sprintf("outside (R %.3f  G %.3f  B %.3f, linear)", v.R, v.G, v.B)
	}
	h, sat, _ := v.HSV()
	text := fmt.Sprintf("hue %.1f deg, saturation %.1f %% (hexcone, linear light)", h, 100*sat)
	if s == colorcalc.BT709 { // a page shows the same primaries by the sRGB curve
		code := func(v float64) int { return int(math.Round(255 * colorcalc.SRGB.Encode(max(v, 0)))) }
		text += fmt.Sprintf(", #%02x%02x%02x", code(v.R), code(v.G), code(v.B))
	}
	return text
}

// compareColours shows every colour and its difference from the first.
func compareColours(w io.Writer, all []namedColour) {
	width := len("colour")
	for _, n := range all {
		width = max(width, len([]rune(n.Text)))
	}
	fmt.Fprintf(w, "%-*s  %-7s %-7s %-7s %-7s %-20s %-8s %-6s %s\n", width, "colour", "x", "y", "u'", "v'", "CCT, Duv", "du'v'", "steps", "in words")
	first := all[0].XY
	for i, n := range all {
		uv := n.XY.UV()
		white := "-"
		if t, d, err := colorcalc.CCT(n.XY); err == nil {
			white = fmt.Sprintf("%.0f K %s", float64(t), d.Text())
		}
		pad := strings.Repeat(" ", width-len([]rune(n.Text)))
		fmt.Fprintf(w, "%s%s  %-7.4f %-7.4f %-7.4f %-7.4f %-20s ", n.Text, pad, n.XY.X, n.XY.Y, uv.U, uv.V, white)
		if i == 0 {
			fmt.Fprintln(w, "(all others are compared with this)")
			continue
		}
		fmt.Fprintf(w, "%-8.4f %-6.1f %s\n", uv.Dist(first.UV()), uv.Steps(first.UV()), colorcalc.Describe(first, n.XY))
	}
	fmt.Fprintln(w, "One step is a circle of 0.0011 in u'v' (CIE TN 001).")
}
