package history

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Size of the plot.
const (
	legendRoom = 0.08 // of the height, above the lines, for each of them
	plotWide   = 9 * vg.Inch
	plotHigh   = 4.5 * vg.Inch
	mostLine   = 8 // lines of a plot: more can not be told apart
)

// WritePlot draws the light of emitters beside the others of their lamp, in percent of what it was at first, as SVG: of
// those that have changed most beside their doubt. Lines differ by their dashes and marks, so that they can be told
// apart without colour.
func WritePlot(w io.Writer, title string, all []Lamp) error {
	p := plot.New()
	p.Title.Text = title
	p.Y.Label.Text = "light, % of the first run"
	p.X.Tick.Marker = plot.TimeTicks{Format: "2006-01-02"}
	p.Legend.Top, p.Legend.Left = true, true // the icon stands before its text, whatever font draws it
	lines := map[string]plotter.XYs{}
	first := map[string]float64{}
	var order []string
	for i := range all {
		for _, e := range all[i].Emitters {
			k := key(&all[i]) + ", " + e.Name
			if _, have := lines[k]; !have {
				order = append(order, k)
				first[k] = e.LnShare
			}
			lines[k] = append(lines[k], plotter.XY{X: float64(all[i].Started.Unix()), Y: 100 * math.Exp(e.LnShare-first[k])})
		}
	}
	marks := []draw.GlyphDrawer{draw.CircleGlyph{}, draw.SquareGlyph{}, draw.TriangleGlyph{}, draw.PyramidGlyph{}, draw.CrossGlyph{}, draw.PlusGlyph{}, draw.RingGlyph{}, draw.BoxGlyph{}}
	change := map[string]float64{}
	for _, t := range Trends(all) {
		change[t.Lamp+", "+t.Emitter] = math.Abs(math.Log1p(t.Share)) / max(t.ShareSD, 1e-6)
	}
	slices.SortStableFunc(order, func(a, b string) int { return cmp.Compare(change[b], change[a]) })
	n := 0
	for _, k := range order {
		if len(lines[k]) < 2 || n == mostLine {
			continue
		}
		l, s, err := plotter.NewLinePoints(lines[k])
		if err != nil {
			return fmt.Errorf("plot: %w", err)
		}
		l.Dashes = []vg.Length{vg.Length(2 + 2*(n%5)), vg.Length(n % 3)}
		s.Shape = marks[n%len(marks)]
		p.Add(l, s)
		p.Legend.Add(strings.TrimPrefix(k, title+": "), l, s)
		n++
	}
	if n == 0 {
		return fmt.Errorf("there is nothing to plot: no fixture with emitters was matched twice")
	}
	p.Y.Max += legendRoom * float64(n) * max(p.Y.Max-p.Y.Min, 1)
	p.X.Max = math.Max(p.X.Max, p.X.Min+(24*time.Hour).Seconds())
	p.X.Max += 0.05 * (p.X.Max - p.X.Min) // the last date needs room
	c := vgsvg.New(plotWide, plotHigh)
	p.Draw(draw.New(c))
	_, err := c.WriteTo(w)
	return err
}
