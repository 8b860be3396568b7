package gellist

import (
	"fmt"
	"path/filepath"

	"trueup/colorcalc"
	"trueup/colorcalc/gel"
	"trueup/colorcalc/spectrum"
	"trueup/profiles/userfile"
	"trueup/profiles/yamlfile"
)

// file is a list of filters as a person writes it.
type file struct {
	Gels []entry `yaml:"gels" need:"yes" items:"1 400" help:"the filters"`
}

type entry struct {
	Name         string   `yaml:"name" need:"yes" help:"as the swatch book calls it"`
	Mired        *float64 `yaml:"mired" min:"-1000" max:"1000" help:"shift in mired, positive to the warm side"`
	Duv          *float64 `yaml:"duv" min:"-0.1" max:"0.1" help:"shift in Duv, positive to the green side"`
	Transmission *float64 `yaml:"transmission" min:"0" max:"1" help:"share of the light that passes, 0 to 1"`
	Spectrum     string   `yaml:"spectrum" help:"file with wavelength and transmittance 0 to 1, beside the list"`
}

// Load reads a list of filters and the spectra it names. The error holds every fault found, each with file, line
// and column; it unwraps to yamlfile.Errors.
func Load(path string) ([]gel.Gel, error) {
	data, err := userfile.Read(path, userfile.GelList)
	if err != nil {
		return nil, err
	}
	var f file
	doc, err := yamlfile.Decode(path, data, &f)
	if doc == nil {
		return nil, err
	}
	list := make([]gel.Gel, 0, len(f.Gels))
	seen := map[string]bool{}
	for i, e := range f.Gels {
		at := fmt.Sprintf("$.gels[%d]", i)
		if seen[e.Name] && e.Name != "" {
			doc.Errorf(at+".name", "a second filter %q", e.Name)
		}
		seen[e.Name] = true
		g := gel.Gel{Name: e.Name}
		switch {
		case e.Spectrum != "" && (e.Mired != nil || e.Duv != nil || e.Transmission != nil):
			doc.Errorf(at+".spectrum", "a spectrum beside shifts: which of them counts?").Advise("keep the spectrum alone")
		case e.Spectrum != "":
			g.Spectrum = transmittance(doc, at+".spectrum", path, e.Spectrum)
		case !doc.Has(at+".mired") && !doc.Has(at+".duv"):
			doc.Errorf(at, "filter %q says nothing of what it does", e.Name).Advise("give mired and duv, or a spectrum")
		}
		if e.Mired != nil {
			g.Mired = colorcalc.Mired(*e.Mired)
		}
		if e.Duv != nil {
			g.Duv = colorcalc.Duv(*e.Duv)
		}
		if e.Transmission != nil {
			g.Transmission = *e.Transmission
		}
		if g.Name != "" {
			if err := g.Check(); err != nil {
				doc.Errorf(at, "%v", err)
			}
		}
		list = append(list, g)
	}
	return list, doc.Err()
}

// Schema describes a list of filters as JSON Schema (draft 2020-12), from the same tags that the reading obeys.
func Schema() map[string]any { return yamlfile.Schema("", "trueup list of filters", file{}, nil) }

// transmittance reads one transmittance; the path is taken from the list's
// folder.
func transmittance(doc *yamlfile.Doc, at, list, name string) *spectrum.Spectrum {
	path := name
	if !filepath.IsAbs(path) {
		path = filepath.Join(filepath.Dir(list), name)
	}
	f, err := userfile.Open(path, userfile.Spectrum)
	if err != nil {
		doc.Errorf(at, "%v", err)
		return nil
	}
	defer f.Close()
	files, err := spectrum.Read(f)
	if err != nil {
		doc.Errorf(at, "%s: %v", path, err)
		return nil
	}
	if len(files) > 1 {
		doc.Errorf(at, "%s holds %d spectra, want one", name, len(files))
		return nil
	}
	s := files[0].Spectrum
	if top := s.At(files[0].PeakNM); top > 1.05 && top <= 105 {
		doc.Errorf(at, "%s has values up to %.3g: want a transmittance of 0 to 1", name, top).Advise("divide percent by 100")
		return nil
	}
	return &s
}
