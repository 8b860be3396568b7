package core

import (
	"trueup/colorcalc"
	"trueup/colorcalc/gel"
	"trueup/colorcalc/spectrum"
)

// Gel is a filter of the rig's list, as the journal keeps it; the meanings are those of gel.Gel.
type Gel struct {
	Name         string          `json:"name"`
	Mired        colorcalc.Mired `json:"mired,omitempty"`
	Duv          colorcalc.Duv   `json:"duv,omitempty"`
	Transmission float64         `json:"transmission,omitempty"`
	Spectrum     *spectrum.Kept  `json:"transmittance,omitempty"`
}

// KeepGels is a list of filters for the journal.
func KeepGels(list []gel.Gel) (kept []Gel) {
	for _, g := range list {
		kept = append(kept, Gel{Name: g.Name, Mired: g.Mired, Duv: g.Duv, Transmission: g.Transmission, Spectrum: spectrum.KeptOf(g.Spectrum)})
	}
	return kept
}

// Filters is the rig's list of filters; empty where it names none.
func (i *RunInfo) Filters() (list []gel.Gel) {
	for _, g := range i.Gels {
		f := gel.Gel{Name: g.Name, Mired: g.Mired, Duv: g.Duv, Transmission: g.Transmission}
		if g.Spectrum != nil {
			s := g.Spectrum.Spectrum()
			f.Spectrum = &s
		}
		list = append(list, f)
	}
	return list
}
