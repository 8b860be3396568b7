package plan

import (
	"trueup/colorcalc"
	"trueup/loop/solve/model"
)

// Price is what likeness costs in light, by the learnt light of the emitters and their spectra bent to
// it: predicted, all of it. A row is a mix that lands.
type Price struct {
	Emitters  int        `json:"emitters"` // that may be lit
	Observers []string   `json:"observers"`
	Rows      []PriceRow `json:"mixes"` // the mix with the most light first
	// Now are the mean differences that the observers are predicted to see with the head as it stands; nil: it
	// stands nowhere yet.
	Now []float64 `json:"now,omitempty"`
}

// PriceRow is a mix.
type PriceRow struct {
	Floor float64   `json:"level_floor"` // 1: the mix with the most light
	Level float64   `json:"level"`       // of the most light at the chromaticity, 0..1
	Means []float64 `json:"mean_de"`     // mean difference over the 99 samples, by observer: CIEDE2000, of the Rf wish that of CAM02-UCS
}

// PriceFloors are the parts of the most light that a price is told for.
var PriceFloors = [...]float64{0.9, 0.7, 0.5}

// LittleToGain is the number of emitters up to which a chromaticity and a level leave next to nothing to choose.
const LittleToGain = 4

// PriceOf tells the price for a head in a state, at chromaticity t. now is where it stands; stands: it was set there.
// Errors: ErrNoMix, also where a spectrum is missing.
func PriceOf(m *model.Mixture, s *model.Spec, wish Wish, like *Likeness, law int, x, now []float64, stands bool, t colorcalc.UV) (Price, error) {
	e := &mixture{m: m, n: m.Emitters(), s: s, wish: wish, like: like, least: minDrive}
	e.load(law, x, now)
	mixing, which, palette := e.mixing(t)
	if mixing == nil {
		return Price{}, ErrNoMix
	}
	bright, err := Brightest(mixing, palette, t)
	if err != nil {
		return Price{}, err
	}
	p := Price{Emitters: len(which), Observers: mixing.Observers(), Rows: []PriceRow{{1, 1, bright.Means}}}
	for _, floor := range PriceFloors {
		mix, err := MostAlike(mixing, palette, t, floor, true)
		if err != nil {
			return Price{}, err
		}
		p.Rows = append(p.Rows, PriceRow{floor, mix.Level, mix.Means})
	}
	if !stands {
		return p, nil
	}
	lights := make([]float64, len(which))
	for k, i := range which {
		lights[k] = e.p(now[i])
	}
	seen, err := mixing.Judge(lights)
	if err != nil {
		return p, nil // it stands dark
	}
	for _, d := range seen {
		p.Now = append(p.Now, d.Mean)
	}
	return p, nil
}
