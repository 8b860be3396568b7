package profiles

import (
	"slices"
	"strconv"
	"strings"

	"trueup/colorcalc"
	"trueup/profiles/yamlfile"
)

// guess is what a colour word alone says of an emitter.
//
// The chromaticity is that of a narrow emitter at a usual peak wavelength (see
// narrow), of a white on the black body line, or, for phosphor colours, of the
// middle of the bins that such emitters come in. sigma covers about the middle
// two thirds of what is sold under the word: for narrow emitters the move of u',
// v' over 5 to 8 nm, which is much in cyan and green and little in deep red; for
// whites the range of colour temperatures. flux is light at equal electrical
// power beside white = 1, for present-day efficacies, good to a factor of about
// 1.5 (lnFlux 0.4); what it is used for is the first step only.
type guess struct {
	words  []string // the first one is the name of the guess
	peak   float64  // nm, of narrow emitters
	kelvin float64  // of whites
	xy     colorcalc.XY
	sigma  float64 // u'v', per axis
	flux   float64
	white  bool
	blind  bool // hardly any of it is seen
}

const lnFluxOfWord = 0.4

var guesses = []guess{
	{words: []string{"red", "r"}, peak: 630, sigma: 0.020, flux: 0.45},
	{words: []string{"deep red", "far red", "hyper red"}, peak: 660, sigma: 0.010, flux: 0.12},
	{words: []string{"red-orange", "orange", "orange-red"}, peak: 612, sigma: 0.022, flux: 0.55},
	{words: []string{"amber", "a", "yellow"}, peak: 594, sigma: 0.024, flux: 0.45},
	{words: []string{"phosphor amber", "pc amber"}, xy: colorcalc.XY{X: 0.565, Y: 0.425}, sigma: 0.018, flux: 0.70},
	{words: []string{"lime", "l"}, xy: colorcalc.XY{X: 0.410, Y: 0.545}, sigma: 0.015, flux: 1.30},
	{words: []string{"mint", "m"}, xy: colorcalc.XY{X: 0.370, Y: 0.460}, sigma: 0.018, flux: 1.20},
	{words: []string{"green", "g"}, peak: 523, sigma: 0.022, flux: 0.75},
	{words: []string{"cyan", "c"}, peak: 500, sigma: 0.035, flux: 0.50},
	{words: []string{"blue", "b"}, peak: 465, sigma: 0.030, flux: 0.17},
	{words: []string{"royal blue"}, peak: 452, sigma: 0.022, flux: 0.10},
	{words: []string{"indigo", "i"}, peak: 443, sigma: 0.015, flux: 0.06},
	{words: []string{"violet", "v"}, peak: 420, sigma: 0.012, flux: 0.015, blind: true},
	{words: []string{"uv", "ultraviolet", "u"}, peak: 390, sigma: 0.015, flux: 0.002, blind: true},
	{words: []string{"white", "w"}, kelvin: 4500, sigma: 0.022, flux: 1, white: true},
	{words: []string{"warm white", "ww"}, kelvin: 2900, sigma: 0.010, flux: 0.95, white: true},
	{words: []string{"neutral white", "nw"}, kelvin: 4100, sigma: 0.009, flux: 1, white: true},
	{words: []string{"cool white", "cold white", "cw"}, kelvin: 6000, sigma: 0.008, flux: 1.05, white: true},
}

// blindBelow is the peak or dominant wavelength, in nm, up to which an emitter
// is handled as UV or violet: at 430 nm the luminous efficiency (CIE 018) is
// 1.2 % of its maximum and falls tenfold every 20 nm below.
const blindBelow = 430

// blindCap is the level that UV and violet emitters are capped at by default.
const blindCap = 0.05

const blindWhy = "UV and violet are hardly seen by eye or meter, but may harm eyes and things: capped at 5 % unless the profile says cap_percent"

// guessOf finds the guess of a colour word, in any spelling of case, space and
// hyphen, also with a number after it ("white 2") and the other way round
// ("white, warm"); ok is false for none.
func guessOf(word string) (g guess, ok bool) {
	w := strings.ToLower(strings.TrimRight(strings.TrimSpace(word), "0123456789"))
	w = strings.Join(strings.FieldsFunc(w, func(r rune) bool { return strings.ContainsRune(" -_#,()", r) }), " ")
	turned := w
	if rest, cut := strings.CutPrefix(w, "white "); cut {
		turned = rest + " white"
	}
	for _, g := range guesses {
		for _, have := range g.words {
			if have = strings.ReplaceAll(have, "-", " "); have == w || have == turned {
				return g, true
			}
		}
	}
	return guess{}, false
}

// ColourWords lists the words that stand for an emitter's colour by
// themselves, the usual one of each first.
func ColourWords() []string {
	var all []string
	for _, g := range guesses {
		all = append(all, g.words[0])
	}
	return all
}

func nearestColour(word string) string {
	var all []string
	for _, g := range guesses {
		for _, w := range g.words {
			if len(w) > 2 {
				all = append(all, w)
			}
		}
	}
	slices.Sort(all)
	return yamlfile.Nearest(word, all)
}

func (g guess) uv() colorcalc.UV {
	switch {
	case g.peak > 0:
		return ofPeak(g.peak)
	case g.kelvin > 0:
		if c, err := colorcalc.White(colorcalc.Kelvin(g.kelvin), 0); err == nil {
			return c.UV()
		}
	}
	return g.xy.UV()
}

func quoted(words []string) string {
	q := make([]string, len(words))
	for i, w := range words {
		q[i] = strconv.Quote(w)
	}
	return strings.Join(q, ", ")
}
