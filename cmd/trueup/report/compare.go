package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"text/tabwriter"

	"trueup/colorcalc"
)

// A Comparison is how the lights of a rig stand beside one light.
type Comparison struct {
	Against string       `json:"against"`
	UV      colorcalc.UV `json:"-"`
	U       float64      `json:"u_prime"`
	V       float64      `json:"v_prime"`
	Rows    []Difference `json:"rows"`
}

// A Difference is one light beside the one it is compared with. What is not defined (a colour
// temperature far from white, the level of a colour) or was not measured is nil.
type Difference struct {
	Fixture  string   `json:"fixture"`
	DeltaCCT *float64 `json:"delta_cct_k"` // kelvin; positive: cooler
	DeltaDuv *float64 `json:"delta_duv"`   // positive: greener
	Delta    float64  `json:"delta_uv"`
	SD       float64  `json:"sd_uv,omitempty"`        // of the light's own u', v', per axis
	Stops    *float64 `json:"delta_stops"`            // positive: brighter; as the same probe sees both
	CCT      *float64 `json:"cct_k"`                  // of the light
	Duv      *float64 `json:"duv"`                    // of the light
	Lux      float64  `json:"lux_at_probe,omitempty"` // 0 = the feed tells no level
	Words    string   `json:"words"`
}

// Compare sets each light beside another, which may be one of them. Levels are compared where the
// same probe saw both.
func Compare(all []Standing, with Standing) Comparison {
	c := Comparison{Against: with.Name, UV: with.UV, U: with.UV.U, V: with.UV.V}
	k0, d0, err0 := colorcalc.CCT(with.UV.XY())
	for _, s := range all {
		row := Difference{Fixture: s.Name, Delta: s.UV.Dist(with.UV), SD: s.SD, Lux: s.Lux, Words: colorcalc.Describe(with.UV.XY(), s.UV.XY())}
		if k, d, err := colorcalc.CCT(s.UV.XY()); err == nil {
			row.CCT, row.Duv = new(float64(k)), new(float64(d))
			if err0 == nil {
				row.DeltaCCT, row.DeltaDuv = new(float64(k-k0)), new(float64(d-d0))
			}
		}
		if s.Lux > 0 && with.Lux > 0 && s.Probe == with.Probe {
			row.Stops = new(math.Log2(s.Lux / with.Lux))
		}
		c.Rows = append(c.Rows, row)
	}
	return c
}

// MeanOf is the mean light of the named ones: the mean of u', v', and of the level where one probe
// saw them all. missing are the names that have no standing.
func MeanOf(name string, members []string, all []Standing) (mean Standing, missing []string) {
	mean.Name = name
	n, lit := 0.0, true
	for _, m := range members {
		i := slices.IndexFunc(all, func(s Standing) bool { return s.Name == m })
		if i < 0 {
			missing = append(missing, m)
			continue
		}
		s := all[i]
		lit = lit && s.Lux > 0 && (n == 0 || s.Probe == mean.Probe)
		mean.Probe = s.Probe
		mean.UV.U, mean.UV.V, mean.Lux = mean.UV.U+s.UV.U, mean.UV.V+s.UV.V, mean.Lux+s.Lux
		n++
	}
	if n > 0 {
		mean.UV.U, mean.UV.V, mean.Lux = mean.UV.U/n, mean.UV.V/n, mean.Lux/n
	}
	if !lit {
		mean.Lux = 0
	}
	return mean, missing
}

// WriteComparison writes a comparison as a table.
func WriteComparison(w io.Writer, c Comparison) {
	fmt.Fprintf(w, "beside %s (u' %.4f v' %.4f):\n", c.Against, c.U, c.V)
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tw, "fixture\tCCT\tDuv\tΔCCT\tΔDuv\tΔu'v'\tlevel\tin words")
	for _, r := range c.Rows {
		fmt.Fprintf(tw, "%s\t%s\t%s\t%s\t%s\t%.4f\t%s\t%s\n", r.Fixture, signed("%.0f K", r.CCT), signed("%+.4f", r.Duv), signed("%+.0f K", r.DeltaCCT),
			signed("%+.4f", r.DeltaDuv), r.Delta, signed("%+.2f stops", r.Stops), r.Words)
	}
	tw.Flush()
}

// signed writes a figure, and a dash for one that there is not.
func signed(format string, v *float64) string {
	if v == nil {
		return "-"
	}
	return fmt.Sprintf(format, *v)
}
