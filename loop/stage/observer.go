package stage

import (
	_ "embed"
	"math"
	"strconv"
	"strings"

	"trueup/colorcalc"
)

// The stage works on its own grid: 380..780 nm, the range for which the
// published white points of CIE 15 hold, in steps of 2 nm. A light source of
// the stage is at least four steps wide, for which the sum converges far below
// the last digit of a meter.
const (
	gridFrom = 380
	gridTo   = 780
	gridStep = 2
	gridN    = (gridTo-gridFrom)/gridStep + 1
)

// observerCSV: CIE 1931 2-degree colour-matching functions at 2 nm, from the
// table of CIE 15 / ISO 11664-1.
//
//go:embed observer.csv
var observerCSV string

// cmf holds the colour-matching functions on the stage's grid.
var cmf = readObserver(observerCSV)

func readObserver(text string) (out [gridN][3]float64) {
	i := 0
	for line := range strings.Lines(text) {
		f := strings.Split(strings.TrimSpace(line), ",")
		nm, err := strconv.Atoi(f[0])
		if err != nil || len(f) != 4 || i >= gridN || nm != gridFrom+i*gridStep {
			continue // comment and header
		}
		for k := range 3 {
			out[i][k], _ = strconv.ParseFloat(f[k+1], 64)
		}
		i++
	}
	if i != gridN {
		return [gridN][3]float64{} // the observer test catches it
	}
	return out
}

// integrate sums a spectral power distribution (per nm, any scale) against the
// observer: CIE 15:2018 clause 7.1, k = 1.
func integrate(spd *[gridN]float64) colorcalc.XYZ {
	var c colorcalc.XYZ
	for i, s := range spd {
		c.X += s * cmf[i][0]
		c.Y += s * cmf[i][1]
		c.Z += s * cmf[i][2]
	}
	return c.Scale(gridStep)
}

// fwhmToSigma turns a full width at half maximum into the standard deviation
// of a Gaussian: 1 / (2 sqrt(2 ln 2)).
var fwhmToSigma = 1 / (2 * math.Sqrt(2*math.Ln2))
