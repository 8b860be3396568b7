package main

import (
	"fmt"
	"io"

	"trueup/cmd/trueup/report"
	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/profiles/userfile"
)

// likenessJSON is how alike a light is to the reference, not rounded. Cameras and
// eyes are set on the reference.
type likenessJSON struct {
	Reference string           `json:"reference"` // the camera is balanced on it
	TLMF      float64          `json:"tlmf_q"`
	TLMFWorst int              `json:"tlmf_worst_sample"`
	SSI       float64          `json:"ssi"`
	Deg2      differencesJSON  `json:"cie_2_degrees"`
	Deg10     differencesJSON  `json:"cie_10_degrees"`
	Camera    *differencesJSON `json:"camera,omitempty"`
	CameraOf  string           `json:"camera_file,omitempty"`
}

// differencesJSON holds CIEDE2000.
type differencesJSON struct {
	Mean     float64 `json:"mean_de2000"`
	Max      float64 `json:"worst_de2000"`
	Worst    string  `json:"worst_sample"`
	White    float64 `json:"white_de2000"`
	Skin     float64 `json:"skin_de2000"`
	DarkSkin float64 `json:"dark_skin_de2000"`
}

func differences(d *quality.Differences) differencesJSON {
	return differencesJSON{d.Mean, d.Max, sampleName(d.Worst), d.White, d.Skin, d.DarkSkin}
}

func sampleName(k int) string { return fmt.Sprintf("CES%02d", k) }

// checkAgainst refuses flags that do not go together.
func (o *colorOptions) checkAgainst(args []string) error {
	switch {
	case o.camera != "" && o.against == "":
		return usageError("--camera compares two lights: name the reference with --against")
	case o.mix && o.against == "":
		return usageError("--mix looks for the mix most like a light: name it with --against")
	case o.against == "":
		return nil
	case o.mix && len(o.spectra) == 0:
		return usageError("--mix needs the spectra of the emitters: give them with --spectrum")
	case len(o.spectra) == 0:
		return usageError("--against compares spectra: give one with --spectrum")
	case len(args) > 0:
		return usageError("--against compares spectra: %q is a colour, and many spectra have one colour", args[0])
	case o.reference != "":
		return usageError("--against is the reference of the spectral similarity too: leave out --ssi")
	}
	return nil
}

// compareLights shows how alike each light is to the reference.
func (o *colorOptions) compareLights(w io.Writer, all []namedColour) error {
	ref, name, err := namedLight("--against", o.against)
	if err != nil {
		return err
	}
	refXY, err := ref.XY()
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	cam, err := readCamera(o.camera)
	if err != nil {
		return err
	}
	found := make([]*quality.Likeness, len(all))
	for i, n := range all {
		if found[i], err = quality.Compare(n.light.Spectrum, ref, cam); err != nil {
			return fmt.Errorf("%s against %s: %w", n.Text, name, err)
		}
	}
	if o.json {
		out, err := o.coloursJSON(all)
		if err != nil {
			return err
		}
		for i, l := range found {
			j := &likenessJSON{Reference: name, TLMF: l.TLMF.Q, TLMFWorst: l.TLMF.Worst, SSI: l.SSI, Deg2: differences(l.Deg2), Deg10: differences(l.Deg10)}
			if l.Camera != nil {
				j.Camera, j.CameraOf = new(differences(l.Camera)), o.camera
			}
			out[i].Likeness = j
		}
		return report.JSON(unfolded(w), out)
	}
	for i, n := range all {
		if i > 0 {
			fmt.Fprintln(w)
		}
		uv := n.XY.UV()
		fmt.Fprintf(w, "%s against %s, the reference\n", n.Text, name)
		fmt.Fprintf(w, "To a meter they are %.4f apart in u'v': %s\n", uv.Dist(refXY.UV()), colorcalc.Describe(refXY, n.XY))
		if n.light.MissingNM > 0.5 {
			fmt.Fprintf(w, "note: %.0f of the 400 nm between 380 and 780 nm are missing in %s and count as dark\n", n.light.MissingNM, n.Text)
		}
		o.showLikeness(w, found[i], name, cam)
	}
	return nil
}

func readCamera(path string) (*quality.Camera, error) {
	if path == "" {
		return nil, nil
	}
	f, err := userfile.Open(path, userfile.Camera)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	c, err := quality.ReadCamera(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return c, nil
}

func (o *colorOptions) showLikeness(w io.Writer, l *quality.Likeness, reference string, cam *quality.Camera) {
	line := func(name, value, words string) { fmt.Fprintf(w, "  %-22s %7s  %s\n", name, value, words) }
	de := func(v float64) string { return fmt.Sprintf("%.1f", v) }
	rows := func(d *quality.Differences) {
		line("  mean", de(d.Mean), "difference of the 99 samples of CIE 224, CIEDE2000")
		line("  worst", de(d.Max), sampleName(d.Worst)+" differs most")
		line("  white", de(d.White), "a white card")
		line("  skin", de(d.Skin), "light to medium: mean of CES15 and CES18")
		line("  dark skin", de(d.DarkSkin), "test colour 1 of EBU Tech 3355")
	}
	if cam == nil {
		fmt.Fprintf(w, "Seen by a set of observers: a standard camera and the CIE's eyes. No camera was described (--camera).\n")
	}
	fmt.Fprintf(w, "Everything is balanced on %s; the other way round the figures are others.\n", reference)
	line("TLMF-2013", fmt.Sprintf("%.0f", l.TLMF.Q), "on the standard television camera: 100 for no difference, 50 for a plain one")
	if l.TLMF.Worst > 0 {
		line("", de(l.TLMF.DE[l.TLMF.Worst-1]), fmt.Sprintf("sample %d of EBU Tech 3355 differs most", l.TLMF.Worst))
	}
	line("SSI["+reference+"]", fmt.Sprint(quality.RoundSSI(l.SSI)), "likeness of the spectra themselves: 100 for the same shape")
	if cam != nil {
		fmt.Fprintf(w, "  your camera, %s, balanced on %s\n", o.camera, reference)
		if cam.MissingNM > 0.5 {
			fmt.Fprintf(w, "    note: %.0f of the 400 nm between 380 and 780 nm are missing and count as blind\n", cam.MissingNM)
		}
		rows(l.Camera)
	}
	fmt.Fprintf(w, "  the eye, CIE 2 degrees\n")
	rows(l.Deg2)
	fmt.Fprintf(w, "  the eye, CIE 10 degrees\n")
	line("  white", de(l.Deg10.White), "a white card in a wide field of view")
	fmt.Fprintln(w, "A difference of 1 is just seen side by side by a practised eye. Cameras differ: with another one the figures are others.")
}
