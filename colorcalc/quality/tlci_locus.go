package quality

import (
	_ "embed"
	"math"
	"strconv"
	"strings"
	"sync"

	"trueup/colorcalc"
)

//go:embed tlci_loci.csv
var tlciLoci string

type locusPoint struct {
	t  colorcalc.Kelvin
	uv colorcalc.UV60
}

// tlciLines holds the Planckian (0) and the daylight (1) polyline of Tech 3355
// Appendix 2.
var tlciLines = sync.OnceValue(func() (lines [2][]locusPoint) {
	for row := range strings.Lines(tlciLoci) {
		f := strings.Split(strings.TrimSpace(row), ",")
		if len(f) != 4 || f[0] != "planckian" && f[0] != "daylight" {
			continue // source and header
		}
		var v [3]float64
		for i := range v {
			v[i], _ = strconv.ParseFloat(f[i+1], 64) // a test checks the sums
		}
		k := 0
		if f[0] == "daylight" {
			k = 1
		}
		lines[k] = append(lines[k], locusPoint{colorcalc.Kelvin(v[0]), colorcalc.XY{X: v[1], Y: v[2]}.UV60()})
	}
	return lines
})

// tlciNearest finds the nearest foot of a normal on either polyline,
// temperature linear between its corners. A corner is a foot where the point
// lies in the gap between the normals of both sides. The outer ends of a
// polyline count only where there is no foot at all.
func tlciNearest(p colorcalc.UV60) (t colorcalc.Kelvin, daylight bool) {
	best, bestEnd := math.Inf(1), math.Inf(1)
	var endT colorcalc.Kelvin
	endDaylight := false
	for k, line := range tlciLines() {
		before := -1.0 // the foot on the segment before; < 0 as if there was none
		for i := 1; i < len(line); i++ {
			a, b := line[i-1], line[i]
			du, dv := b.uv.U-a.uv.U, b.uv.V-a.uv.V
			f := ((p.U-a.uv.U)*du + (p.V-a.uv.V)*dv) / (du*du + dv*dv)
			foot := f >= 0 && f <= 1 || f < 0 && before > 1
			before = f
			s := min(max(f, 0), 1)
			eu, ev := a.uv.U+s*du-p.U, a.uv.V+s*dv-p.V
			d, at := eu*eu+ev*ev, a.t+colorcalc.Kelvin(s)*(b.t-a.t)
			if foot && d < best {
				best, t, daylight = d, at, k == 1
			}
			if d < bestEnd {
				bestEnd, endT, endDaylight = d, at, k == 1
			}
		}
	}
	if math.IsInf(best, 1) {
		return endT, endDaylight
	}
	return t, daylight
}
