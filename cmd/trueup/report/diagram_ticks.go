package report

import (
	"math"
	"strconv"

	"gonum.org/v1/plot"
)

// roundTicks marks an axis at steps of 1, 2 or 5 times a power of ten, about
// six of them, with as many decimals as the step needs.
type roundTicks struct{}

// Ticks implements plot.Ticker.
func (roundTicks) Ticks(lo, hi float64) []plot.Tick {
	if !(hi > lo) {
		return nil
	}
	step := math.Pow(10, math.Floor(math.Log10((hi-lo)/6)))
	for _, k := range []float64{1, 2, 5, 10} {
		if (hi-lo)/(step*k) <= 7 {
			step *= k
			break
		}
	}
	digits := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	var out []plot.Tick
	for i := math.Ceil(lo/step - 1e-9); i*step <= hi+1e-9*step; i++ {
		v := i * step
		out = append(out, plot.Tick{Value: v, Label: strconv.FormatFloat(v+0, 'f', digits, 64)})
	}
	return out
}
