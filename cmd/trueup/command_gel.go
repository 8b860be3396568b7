package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trueup/colorcalc"
	"trueup/colorcalc/expr"
	"trueup/colorcalc/gel"
	"trueup/colorcalc/spectrum"
	"trueup/loop/session/rig"
	"trueup/profiles/gellist"
)

type gelOptions struct {
	from, to, spectrum, list, rig string
	layers                        int
}

func newGelCommand() *cobra.Command {
	var o gelOptions
	c := &cobra.Command{
		Use:   "gel --from COLOUR --to COLOUR",
		Short: "Find the filters that bring one light to another",
		Long: `Find the filters that bring one light to another: the shift that is wanted, in
mired and Duv, for any swatch book; then no filter at all, and the best one, two
and three layers of a list, as far as each is worth its layers, with what is left
over and the light that is lost. A stop of light weighs as much as 0.0005 u'v'.

--list gives the filters that you have, --rig those that a rig names with gels:.
Without either a generic nominal series stands in: full, 1/2, 1/4 and 1/8 of
warm, cool, plus green and minus green. With --spectrum the light behind the
filters is computed; from a colour alone it can only be guessed.

A list is YAML:
  gels:
    - {name: amber 3, mired: 112, duv: 0.001, transmission: 0.55}
    - {name: sky 1, spectrum: sky1.csv}     # wavelength, transmittance 0..1`,
		Example: `  trueup gel --from 5600K --to 3200K
  trueup gel --spectrum wash.csv --to "uv 0.2500 0.5210" --list gels.yaml`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return o.run(c) },
	}
	f := c.Flags()
	f.StringVar(&o.from, "from", "", "the light as it is, a `COLOUR`")
	f.StringVar(&o.spectrum, "spectrum", "", "the light as it is, a spectrum `FILE`; better than --from")
	f.StringVar(&o.to, "to", "", "the light that is wanted, a `COLOUR`")
	f.StringVar(&o.list, "list", "", "list of filters, a YAML `FILE`")
	f.StringVar(&o.rig, "rig", "", "take the list of filters that a `RIG` file names with gels:")
	f.IntVar(&o.layers, "layers", 3, "at most this many layers, 1 to 3")
	c.AddCommand(newSchemaCommand("lists of filters", func() (any, error) { return gellist.Schema(), nil }))
	return c
}

func (o *gelOptions) run(c *cobra.Command) error {
	if o.to == "" || (o.from == "") == (o.spectrum == "") {
		return usageError("give --to, and one of --from and --spectrum (see --help)")
	}
	if o.layers < 1 || o.layers > gel.MaxLayers {
		return usageError("--layers %d: want 1 to %d", o.layers, gel.MaxLayers)
	}
	target, err := expr.Parse(o.to)
	if err != nil {
		return colourError(c.ErrOrStderr(), err)
	}
	src, err := o.source(c)
	if err != nil {
		return err
	}
	list, err := o.filters()
	if err != nil {
		return shownErrors(c.ErrOrStderr(), err)
	}
	choices, err := gel.Choose(src, target.XY, list, o.layers)
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	showGels(c.OutOrStdout(), src, target.XY, choices, o.layers)
	return nil
}

// filters are those that a person has, by their list or their rig; else the nominal series.
func (o *gelOptions) filters() ([]gel.Gel, error) {
	switch {
	case o.list != "" && o.rig != "":
		return nil, usageError("--list and --rig both name a list of filters: give one of them")
	case o.list != "":
		return gellist.Load(o.list)
	case o.rig != "":
		r, err := rig.Load(o.rig)
		if err != nil {
			return nil, err
		}
		if len(r.Gels) == 0 {
			return nil, fmt.Errorf("%s names no list of filters; write gels: FILE into it, or give --list FILE", o.rig)
		}
		return r.Gels, nil
	}
	return gel.Nominal(), nil
}

func (o *gelOptions) source(c *cobra.Command) (gel.Source, error) {
	if o.spectrum == "" {
		from, err := expr.Parse(o.from)
		if err != nil {
			return gel.Source{}, colourError(c.ErrOrStderr(), err)
		}
		if s, ok := spectrum.Illuminant(from.Text); ok {
			return gel.Source{XY: from.XY, Spectrum: &s}, nil
		}
		return gel.Source{XY: from.XY}, nil
	}
	files, err := readSpectra(o.spectrum)
	if err != nil {
		return gel.Source{}, &exitError{exitNotAll, err}
	}
	if len(files) > 1 {
		return gel.Source{}, &exitError{exitNotAll, fmt.Errorf("%s: %d spectra, want one", o.spectrum, len(files))}
	}
	xy, err := files[0].XY()
	if err != nil {
		return gel.Source{}, &exitError{exitNotAll, fmt.Errorf("%s: %w", o.spectrum, err)}
	}
	return gel.Source{XY: xy, Spectrum: &files[0].Spectrum}, nil
}

// showGels shows what is wanted and a row for each number of layers up to most.
func showGels(w io.Writer, src gel.Source, to colorcalc.XY, choices []gel.Choice, most int) {
	from := src.XY
	fmt.Fprintf(w, "from    %s\nto      %s, that is %s\n", whiteText(from), whiteText(to), colorcalc.Describe(from, to))
	m, d, err := gel.Wanted(from, to)
	switch {
	case errors.Is(err, colorcalc.ErrFarFromLocus) || errors.Is(err, colorcalc.ErrNoCCT):
		fmt.Fprintln(w, "wanted  no number: one of the two is a colour, not a white")
	case err == nil:
		fmt.Fprintf(w, "wanted  %+.0f mired, Duv %s\n", math.Round(float64(m))+0, d.Text())
		if cc, green, err := gel.CC(src, d); err == nil && cc >= 1 {
			kind := "minus green"
			if green {
				kind = "plus green"
			}
			fmt.Fprintf(w, "        the tint alone is about CC%.0f %s on this light, by an ideal dye\n", cc, kind)
		}
	}
	fmt.Fprintf(w, "\n%-8s %-9s %-7s %s\n", "layers", "left u'v'", "stops", "filters")
	var notes []string
	for n := range most + 1 {
		i := slices.IndexFunc(choices, func(c gel.Choice) bool { return len(c.Layers) == n })
		if i < 0 {
			fmt.Fprintf(w, "%-8d no better than fewer layers\n", n)
			continue
		}
		c := choices[i]
		filters := "none: the light as it is"
		if n > 0 {
			var names []string
			for _, g := range c.Layers {
				names = append(names, g.Name)
			}
			filters = strings.Join(names, " + ")
		}
		stops := "?"
		if c.StopsKnown {
			stops = fmt.Sprintf("%.2f", c.Stops)
		}
		fmt.Fprintf(w, "%-8d %-9.4f %-7s %s\n", n, c.Residual, stops, filters)
		fmt.Fprintf(w, "%-8s %-9s %-7s left: %s\n", "", "", "", colorcalc.Describe(to, c.Result))
		for _, n := range c.Notes {
			if !slices.Contains(notes, n) {
				notes = append(notes, n)
			}
		}
	}
	if len(choices) == 1 {
		fmt.Fprintln(w, "\nNo filter of the list brings it nearer by what it costs: leave it as it is.")
		return
	}
	fmt.Fprintln(w)
	for _, n := range notes {
		fmt.Fprintln(w, n)
	}
}
