package main

import (
	"fmt"
	"io"
	"slices"

	"gonum.org/v1/gonum/stat"

	"trueup/cmd/trueup/report"
	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
	"trueup/loop/solve/plan"
)

// priceRow is one line of the table of what likeness costs in light.
type priceRow struct {
	Floor  float64   `json:"level_floor"` // 1: the mix with the most light
	Level  float64   `json:"level"`       // of the most light, 0..1
	Means  []float64 `json:"mean_de2000"` // by observer
	Lights []float64 `json:"lights"`      // fraction of full light of every emitter
}

type priceJSON struct {
	Reference string     `json:"reference"`
	Emitters  []string   `json:"emitters"`
	Observers []string   `json:"observers"`
	Rows      []priceRow `json:"mixes"`
}

// mixLights shows what the spectra, as emitters of one lamp, can do for the likeness with
// the reference, and what that costs in light.
func (o *colorOptions) mixLights(w io.Writer, all []namedColour) error {
	ref, name, err := namedLight("--against", o.against)
	if err != nil {
		return err
	}
	ref = ref.Resample(spectrum.Visible5)
	xy, err := ref.XY()
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	var p plan.Palette
	var emitters []quality.Emitter
	price := priceJSON{Reference: name}
	for _, n := range all {
		s := n.light.Spectrum.Resample(spectrum.Visible5)
		c := s.XYZ(spectrum.Deg2)
		emitters = append(emitters, quality.Emitter{Spectrum: s, Luminance: c.Y})
		p.Full, p.Most = append(p.Full, c), append(p.Most, 1)
		price.Emitters = append(price.Emitters, n.Text)
	}
	observers, err := o.mixObservers()
	if err != nil {
		return err
	}
	m, err := quality.NewMixing(ref, emitters, observers...)
	if err != nil {
		return err
	}
	price.Observers = m.Observers()
	bright, err := plan.Brightest(m, p, xy.UV())
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	price.Rows = append(price.Rows, priceRow{1, bright.Level, bright.Means, bright.Lights})
	for _, floor := range plan.PriceFloors {
		mix, err := plan.MostAlike(m, p, xy.UV(), floor, true)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		price.Rows = append(price.Rows, priceRow{floor, mix.Level, mix.Means, mix.Lights})
	}
	if o.json {
		return report.JSON(unfolded(w), price)
	}
	o.showPrice(w, &price, xy)
	return nil
}

// mixObservers are who looks: the camera that was described, or a set that stands for none in particular.
func (o *colorOptions) mixObservers() ([]quality.Observer, error) {
	cam, err := readCamera(o.camera)
	if err != nil {
		return nil, err
	}
	if cam != nil {
		return []quality.Observer{cam.Observer(o.camera)}, nil
	}
	return quality.ObserverSet(), nil
}

func (o *colorOptions) showPrice(w io.Writer, price *priceJSON, xy colorcalc.XY) {
	fmt.Fprintf(w, "Mixes of %d emitters at the colour of %s (x, y %.4f, %.4f), the reference\n", len(price.Emitters), price.Reference, xy.X, xy.Y)
	if o.camera == "" {
		fmt.Fprintln(w, "Seen by a set of observers, and no mix looks less alike to any of them than the brightest. No camera was described (--camera).")
	}
	if len(price.Emitters) <= plan.LittleToGain {
		fmt.Fprintf(w, "note: with %d emitters there is hardly anything to choose: colour and level leave almost no freedom\n", len(price.Emitters))
	}
	fmt.Fprintf(w, "\n  %-22s %6s", "mix", "level")
	many := len(price.Observers) > 1
	if many {
		fmt.Fprintf(w, "  %s  %s", "mean of all", "worst of them")
	} else {
		fmt.Fprintf(w, "  %s", price.Observers[0])
	}
	fmt.Fprintln(w)
	for _, r := range price.Rows {
		title := fmt.Sprintf("most alike, %.0f %% kept", 100*r.Floor)
		if r.Floor == 1 {
			title = "most light"
		}
		fmt.Fprintf(w, "  %-22s %4.0f %%", title, 100*r.Level)
		if many {
			fmt.Fprintf(w, "  %*.1f  %*.1f", len("mean of all"), stat.Mean(r.Means, nil), len("worst of them"), slices.Max(r.Means))
		} else {
			fmt.Fprintf(w, "  %*.1f", len(price.Observers[0]), r.Means[0])
		}
		fmt.Fprintln(w)
	}
	width := len("light of the emitters")
	for _, name := range price.Emitters {
		width = max(width, len(name))
	}
	fmt.Fprintf(w, "\n  %-*s", width, "light of the emitters")
	for _, r := range price.Rows {
		if r.Floor == 1 {
			fmt.Fprintf(w, "  %10s", "most light")
		} else {
			fmt.Fprintf(w, "  %8.0f %%", 100*r.Floor)
		}
	}
	fmt.Fprintln(w)
	for j, name := range price.Emitters {
		fmt.Fprintf(w, "  %-*s", width, name)
		for _, r := range price.Rows {
			fmt.Fprintf(w, "  %8.1f %%", 100*r.Lights[j])
		}
		fmt.Fprintln(w)
	}
	fmt.Fprintln(w, "\nFigures are the mean difference of the 99 samples of CIE 224, CIEDE2000, by the spectra given. They hold for these spectra: a fixture whose emitters differ is matched by the loop to the colour, not to the spectrum.")
}
