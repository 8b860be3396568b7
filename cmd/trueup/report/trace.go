package report

import (
	"cmp"
	"fmt"
	"html"
	"html/template"
	"math"
	"slices"
	"strings"

	"trueup/loop/session"
	"trueup/profiles/printable"
)

// maxTraces is how many fixtures have their readings drawn: the panels of a page. Of more
// those that missed come first, then those that took most readings.
const maxTraces = 15

// worthATrace lists the fixtures whose readings have something to tell, in the order of the rig.
func worthATrace(s *session.Summary) []session.FixtureSummary {
	var order []int
	for i, f := range s.Fixtures {
		if len(f.Trace) > 0 && f.Outcome != nil {
			order = append(order, i)
		}
	}
	if len(order) > maxTraces {
		missed := func(i int) bool { return !s.Fixtures[i].Final().Landed() }
		slices.SortStableFunc(order, func(a, b int) int {
			switch {
			case missed(a) != missed(b) && missed(a):
				return -1
			case missed(a) != missed(b):
				return 1
			}
			return cmp.Compare(len(s.Fixtures[b].Trace), len(s.Fixtures[a].Trace))
		})
		order = order[:maxTraces]
		slices.Sort(order)
	}
	var out []session.FixtureSummary
	for _, i := range order {
		out = append(out, s.Fixtures[i])
	}
	return out
}

// traceChart draws the distance to the target over the readings of each
// fixture, on a logarithmic scale, one small panel a fixture.
func traceChart(s *session.Summary) template.HTML {
	const (
		panelW, panelH = 162.0, 120.0
		left, top      = 42.0, 20.0 // left of the axis "0.0001" has to fit, in the widest of the fonts
		columns        = 5
		lo, hi         = 1e-4, 1e-1 // shown range of Δu'v'
	)
	traced := worthATrace(s)
	if len(traced) == 0 {
		return ""
	}
	rows := (len(traced) + columns - 1) / columns
	y := func(d float64) float64 {
		d = min(max(d, lo), hi)
		return top + panelH*(1-math.Log10(d/lo)/math.Log10(hi/lo))
	}
	var b strings.Builder
	w, h := columns*(panelW+left+10), float64(rows)*(panelH+top+28)
	fmt.Fprintf(&b, `<svg viewBox="0 0 %.0f %.0f" width="%.0f" role="img" aria-label="distance to the target by reading" font-family="Georgia, serif" font-size="11">`, w, h, w)
	for i, f := range traced {
		fmt.Fprintf(&b, `<g transform="translate(%.0f %.0f)">`, float64(i%columns)*(panelW+left+10), float64(i/columns)*(panelH+top+28))
		fmt.Fprintf(&b, `<text x="%.0f" y="13">%s</text>`, left, html.EscapeString(f.Name))
		fmt.Fprintf(&b, `<rect x="%.0f" y="%.1f" width="%.0f" height="%.1f" fill="#e9e4d8"/>`, left, y(s.Info.Tolerance), panelW, top+panelH-y(s.Info.Tolerance))
		for _, d := range []float64{1e-4, 1e-3, 1e-2, 1e-1} {
			fmt.Fprintf(&b, `<line x1="%.0f" x2="%.0f" y1="%.1f" y2="%.1f" stroke="#d8d3c8"/><text x="%.0f" y="%.1f" text-anchor="end" fill="#625d55" font-size="9">%g</text>`,
				left, left+panelW, y(d), y(d), left-4, y(d)+3, d)
		}
		n := len(f.Trace)
		x := func(k int) float64 { return left + panelW*(float64(k)+0.5)/float64(max(n, 6)) }
		var path []string
		for k, p := range f.Trace {
			path = append(path, fmt.Sprintf("%.1f,%.1f", x(k), y(p.Delta)))
		}
		fmt.Fprintf(&b, `<polyline points="%s" fill="none" stroke="#1c1b19" stroke-width="1"/>`, strings.Join(path, " "))
		for k, p := range f.Trace {
			fill := "#1c1b19"
			if !p.Counted {
				fill = "#fdfcf9" // hollow: set aside by the estimate
			}
			fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="2.6" fill="%s" stroke="#1c1b19"/>`, x(k), y(p.Delta), fill)
		}
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" fill="#625d55" font-size="9">%s</text></g>`, left, top+panelH+13, printable.Count(n, "reading"))
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}
