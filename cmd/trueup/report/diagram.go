package report

import (
	"bytes"
	"fmt"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"trueup/colorcalc"
)

// DiagramSpace chooses the axes of a colour diagram.
type DiagramSpace int

// The two diagrams that the trade reads.
const (
	DiagramUV DiagramSpace = iota // CIE 1976 u', v': distances look as they are seen
	DiagramXY                     // CIE 1931 x, y
)

// DiagramMark is one light on the diagram: where it was and where it is now. A
// zero chromaticity leaves that end out; with both, an arrow joins them.
type DiagramMark struct {
	Name   string
	Before colorcalc.XY
	// Computed: it was not read at Before, which is drawn as a cross.
	Computed bool
	After    colorcalc.XY
	Missed   bool // drawn so that it stands out, also in grey print
}

// DiagramSpec says what a colour diagram shows.
type DiagramSpec struct {
	Space DiagramSpace
	Title string
	Marks []DiagramMark
	// Gamuts are outlines of what lamps reach, each a closed polygon; drawn dashed.
	Gamuts []Gamut
	Target colorcalc.XY // zero = none
	TolUV  float64      // radius of the tolerance circle in u'v'; 0 = none
	Zoom   bool         // only the part with the marks and the target
	Close  bool         // with Zoom: as close as the tolerance allows, for lights that are all within it
	// Width and Height in points of 1/72 inch; 0 = 430 by 430.
	Width, Height float64
}

const (
	diagramSize = 430
	// minZoom is the least width of a zoomed window, in u'v': about five
	// tolerances to each side. Closer than that only noise would be seen.
	minZoom = 0.012
	// minClose is that of a close view, where the tolerance is no wider.
	minClose = 0.003
)

// Diagram draws a colour diagram with the spectral locus, the Planckian locus
// with its temperatures and the CIE daylight locus, and the marks over it. The
// result is one <svg> element, to be put into a page or written to a file.
// Both axes have the same scale. A mark that noise has carried out of the
// diagram is drawn where it is. Errors: a mark or target that is not a number or
// has no place in u', v'; a tolerance that is no radius.
func Diagram(spec DiagramSpec) ([]byte, error) {
	if err := spec.check(); err != nil {
		return nil, err
	}
	w, h := spec.Width, spec.Height
	if w <= 0 {
		w = diagramSize
	}
	if h <= 0 {
		h = diagramSize
	}
	p := plot.New()
	p.Title.Text = spec.Title
	p.X.Label.Text, p.Y.Label.Text = "u′", "v′"
	if spec.Space == DiagramXY {
		p.X.Label.Text, p.Y.Label.Text = "x", "y"
	}
	styleDiagram(p)
	d := &diagram{spec: spec}
	p.Add(d)

	c := vgsvg.New(vg.Length(w), vg.Length(h))
	dc := draw.Crop(draw.New(c), 2, -14, 2, -4) // room for the last tick label
	d.window(p, dc)
	p.Draw(dc)
	var out bytes.Buffer
	if _, err := c.WriteTo(&out); err != nil {
		return nil, fmt.Errorf("diagram: %w", err)
	}
	return cleanSVG(out.Bytes(), spec.label()), nil
}

func (s DiagramSpec) check() error {
	ok := func(c colorcalc.XY) bool { return c == (colorcalc.XY{}) || c.UV() != (colorcalc.UV{}) }
	for _, m := range s.Marks {
		if !ok(m.Before) || !ok(m.After) {
			return fmt.Errorf("diagram: %s: no place on the diagram", m.Name)
		}
	}
	if !ok(s.Target) {
		return fmt.Errorf("diagram: target: no place on the diagram")
	}
	if !(s.TolUV >= 0 && s.TolUV < 1) {
		return fmt.Errorf("diagram: tolerance %v: want a radius in u'v'", s.TolUV)
	}
	return nil
}

// label is the text for people who cannot see the picture.
func (s DiagramSpec) label() string {
	text := "Colour diagram"
	if s.Title != "" {
		text += ": " + s.Title
	}
	missed := 0
	for _, m := range s.Marks {
		if m.Missed {
			missed++
		}
	}
	return fmt.Sprintf("%s. %d lights, %d of them off the target.", text, len(s.Marks), missed)
}

// diagram draws itself as one plotter, so that the order of layers is in one
// place.
type diagram struct{ spec DiagramSpec }

// at places a chromaticity on the axes.
func (d *diagram) at(c colorcalc.XY) (x, y float64) {
	if d.spec.Space == DiagramXY {
		return c.X, c.Y
	}
	uv := c.UV()
	return uv.U, uv.V
}

// window sets the ranges of the axes: the whole diagram or the part with the
// marks, widened on one side so that both axes have the same scale.
func (d *diagram) window(p *plot.Plot, dc draw.Canvas) {
	x0, x1, y0, y1 := -0.02, 0.66, -0.02, 0.62
	if d.spec.Space == DiagramXY {
		x0, x1, y0, y1 = -0.04, 0.80, -0.04, 0.88
	}
	if d.spec.Zoom {
		if a, b, c, e, ok := d.bounds(); ok {
			x0, x1, y0, y1 = a, b, c, e
		}
	}
	for range 3 { // the room for the axes depends on their labels
		p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = x0, x1, y0, y1
		r := p.DataCanvas(dc).Rectangle.Size()
		scale := max((x1-x0)/float64(r.X), (y1-y0)/float64(r.Y))
		mx, my := (x0+x1)/2, (y0+y1)/2
		hx, hy := scale*float64(r.X)/2, scale*float64(r.Y)/2
		p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = mx-hx, mx+hx, my-hy, my+hy
	}
}

// bounds finds the window of a zoomed diagram.
func (d *diagram) bounds() (x0, x1, y0, y1 float64, ok bool) {
	x0, y0, x1, y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	put := func(c colorcalc.XY) {
		if c != (colorcalc.XY{}) {
			x, y := d.at(c)
			x0, x1, y0, y1 = min(x0, x), max(x1, x), min(y0, y), max(y1, y)
		}
	}
	put(d.spec.Target)
	for _, m := range d.spec.Marks {
		put(m.Before)
		put(m.After)
	}
	if !(x1 >= x0) {
		return 0, 0, 0, 0, false
	}
	least := max(minZoom, 8*d.spec.TolUV)
	if d.spec.Close {
		least = max(minClose, 3*d.spec.TolUV) // the circle fills two thirds of the window
	}
	grow := func(a, b float64) (float64, float64) {
		half := max((b-a)/2*1.25, least/2)
		return (a+b)/2 - half, (a+b)/2 + half
	}
	x0, x1 = grow(x0, x1)
	y0, y1 = grow(y0, y1)
	return x0, x1, y0, y1, true
}

// Plot draws all layers, from the ground up.
func (d *diagram) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	l := &layer{diagram: d, canvas: c, zoomed: d.spec.Zoom, place: func(q colorcalc.XY) vg.Point {
		x, y := d.at(q)
		return vg.Point{X: tx(x), Y: ty(y)}
	}}
	l.spectralLocus()
	l.daylightLocus()
	l.planckianLocus()
	l.gamuts()
	l.target()
	l.marks()
	l.names()
}
