package gel

import (
	"errors"
	"fmt"
	"math"

	"trueup/colorcalc"
)

// Choice is a set of layers and what they would do; without layers it is the
// light as it is.
type Choice struct {
	Layers   []Gel
	Result   colorcalc.XY // chromaticity behind the layers
	Residual float64      // what is left to the target, in u'v'
	// Stops is the light that is lost, log2 of the share of Y that passes.
	Stops      float64
	StopsKnown bool // false where a filter of the list does not say
	// Computed: from the real spectra of light and filters. Otherwise a guess.
	Computed bool
	Notes    []string // what to know before trusting it, a sentence or two each
}

// Limits of a list: more than this takes too long for three layers.
const (
	MaxGels   = 400
	MaxLayers = 3
	// PerStop is what one stop of light weighs against u'v': less than half a
	// just visible step.
	PerStop = 0.0005
	// WorthALayer is how much better, in the same measure, a further layer must
	// come out to be worth its place in the frame.
	WorthALayer = 0.0002
)

// Cost is what choices are compared by: the distance that is left to the
// target in u'v', and PerStop for each stop of light.
func (c Choice) Cost() float64 { return c.Residual + PerStop*c.Stops }

// Choose finds what to put before a light: first no filter at all, then for one,
// two and up to maxLayers (3) layers the set that costs least, where it costs
// less by WorthALayer than every choice with fewer layers. The last choice is
// so the best, and none is worse than nothing. The same filter may be used
// twice. Every set is computed, so the best is the best there is; three layers
// of the longest list take a few seconds. Errors: a source without spectrum
// or colour temperature, a broken list, more than 400 filters.
func Choose(from Source, target colorcalc.XY, list []Gel, maxLayers int) ([]Choice, error) {
	if !target.Valid() {
		return nil, fmt.Errorf("gel: the target: %w", colorcalc.ErrNotAColour)
	}
	if len(list) == 0 || len(list) > MaxGels {
		return nil, fmt.Errorf("gel: %d filters in the list, want 1 to %d", len(list), MaxGels)
	}
	for _, g := range list {
		if err := g.Check(); err != nil {
			return nil, err
		}
	}
	l, err := newLamp(from)
	if err != nil {
		return nil, err
	}
	s := newSearch(l, target, list)
	if len(s.gels)+len(s.shifts) == 0 {
		return nil, errors.New("gel: none of the filters can be judged on this light; give spectra")
	}
	bare := l.own.plus(l.offset).uv()
	out := []Choice{{Result: bare.XY(), Residual: bare.Dist(s.target), StopsKnown: true, Computed: true}}
	for n := 1; n <= min(max(maxLayers, 1), MaxLayers); n++ {
		if c, ok := s.compute(s.best(n)); ok && c.Cost() < out[len(out)-1].Cost()-WorthALayer {
			out = append(out, c)
		}
	}
	return out, nil
}

// compute works a set out in full.
func (s *search) compute(layers []*Gel) (Choice, bool) {
	if len(layers) == 0 {
		return Choice{}, false
	}
	r, pass, known := s.lamp.behind(layers)
	uv := r.uv()
	if !r.finite() || uv == (colorcalc.UV{}) {
		return Choice{}, false
	}
	c := Choice{Result: uv.XY(), Residual: uv.Dist(s.target), Stops: -math.Log2(pass), StopsKnown: known, Computed: s.lamp.standIn == ""}
	nominal, shifts := false, false
	for _, g := range layers {
		c.Layers = append(c.Layers, *g)
		nominal = nominal || g.Nominal
		shifts = shifts || g.Spectrum == nil
	}
	c.Computed = c.Computed && !nominal && !shifts
	c.Notes = notes(s.lamp.standIn, nominal, shifts)
	return c, true
}

// notes says why a result may be off.
func notes(standIn string, nominal, shifts bool) (out []string) {
	if standIn != "" {
		out = append(out, "The light's spectrum is not known: predicted as if it was "+standIn+"; LEDs and discharge lamps can land elsewhere, so meter it.")
	}
	if shifts {
		out = append(out, "Filters known by their shift alone are added up: a shift holds for the light it was stated for.")
	}
	if nominal {
		out = append(out, "The filters are nominal: look for the nearest in a swatch book.")
	}
	return out
}
