package history

import (
	"fmt"
	"io"
	"math"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Size of the plot.
const (
	plotWide = 9 * vg.Inch
	plotHigh = 4.5 * vg.Inch
	mostLine = 24 // lines of a plot
)

// WritePlot draws the light of every emitter beside the others of its lamp, in percent of what it was at first, as
// SVG. Lines differ by their dashes and marks, so that they can be told apart without colour.
func WritePlot(w io.Writer, title string, all []Lamp) error {
	p := plot.New()
	p.Title.Text = title
	p.Y.Label.Text = "light beside the lamp's other emitters, % of the first run"
	p.X.Tick.Marker = plot.TimeTicks{Format: "2006-01-02"}
	p.Legend.Top = true
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
		p.Legend.Add(k, l, s)
		n++
	}
	if n == 0 {
		return fmt.Errorf("there is nothing to plot: no lamp with emitters was matched twice")
	}
	p.X.Max = math.Max(p.X.Max, p.X.Min+(24*time.Hour).Seconds())
	c := vgsvg.New(plotWide, plotHigh)
	p.Draw(draw.New(c))
	_, err := c.WriteTo(w)
	return err
}
