package report

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"trueup/colorcalc"
)

// maxNames is how many lights are named in a window; with more of them, and in
// the whole diagram, only those off the target are.
const maxNames = 16

// target draws a cross and the circle of the tolerance: all points at that
// distance in u'v', which is an ellipse in x, y.
func (l *layer) target() {
	t := l.spec.Target
	if t == (colorcalc.XY{}) {
		return
	}
	p := l.place(t)
	if l.spec.TolUV > 0 {
		var pts []vg.Point
		for i := 0; i <= 72; i++ {
			sin, cos := math.Sincos(float64(i) * math.Pi / 36)
			uv := t.UV()
			pts = append(pts, l.place(colorcalc.UV{U: uv.U + l.spec.TolUV*cos, V: uv.V + l.spec.TolUV*sin}.XY()))
		}
		l.polyline(ink(inkTarget, 0.9), pts)
	}
	if l.inside(p) {
		const r = 5
		l.polyline(ink(inkTarget, 0.9), []vg.Point{{X: p.X - r, Y: p.Y}, {X: p.X + r, Y: p.Y}})
		l.polyline(ink(inkTarget, 0.9), []vg.Point{{X: p.X, Y: p.Y - r}, {X: p.X, Y: p.Y + r}})
		l.taken = append(l.taken, vg.Rectangle{Min: vg.Point{X: p.X - r, Y: p.Y - r}, Max: vg.Point{X: p.X + r, Y: p.Y + r}})
	}
}

// marks draws where the lights were (hollow, grey; a cross if that is computed), where they are (filled
// circle, or a triangle for one off the target) and an arrow in between.
func (l *layer) marks() {
	for _, m := range l.spec.Marks {
		if m.Before != (colorcalc.XY{}) && m.After != (colorcalc.XY{}) {
			l.arrow(l.place(m.Before), l.place(m.After))
		}
	}
	for _, m := range l.spec.Marks {
		if m.Before == (colorcalc.XY{}) {
			continue
		}
		if m.Computed {
			l.glyph(l.place(m.Before), draw.CrossGlyph{}, inkBefore, 2.6)
		} else {
			l.glyph(l.place(m.Before), draw.RingGlyph{}, inkBefore, 2.6)
		}
	}
	for _, m := range l.spec.Marks {
		if m.After == (colorcalc.XY{}) {
			continue
		}
		if m.Missed {
			l.glyph(l.place(m.After), draw.PyramidGlyph{}, inkMissed, 3.6)
		} else {
			l.glyph(l.place(m.After), draw.CircleGlyph{}, inkAfter, 2.4)
		}
	}
	l.markNames()
}

// markNames writes the names of the lights, or of those alone that missed where
// there is no room for all.
func (l *layer) markNames() {
	all := l.zoomed && len(l.spec.Marks) <= maxNames
	for _, missed := range []bool{true, false} { // those that matter get a place first
		for _, m := range l.spec.Marks {
			if m.Missed != missed || !all && !missed {
				continue
			}
			c, at := color.Color(inkText), m.After
			if m.Missed {
				c = inkMissed
			}
			// A light that landed stands in the heap at the target: name it where it came from.
			if at == (colorcalc.XY{}) || !m.Missed && m.Before != (colorcalc.XY{}) {
				at = m.Before
			}
			if p := l.place(at); at != (colorcalc.XY{}) && l.inside(p) {
				l.label(p, m.Name, c, 7.5)
			}
		}
	}
}

func (l *layer) glyph(p vg.Point, shape draw.GlyphDrawer, c color.Color, r vg.Length) {
	if l.inside(p) {
		l.taken = append(l.taken, vg.Rectangle{Min: vg.Point{X: p.X - r, Y: p.Y - r}, Max: vg.Point{X: p.X + r, Y: p.Y + r}})
		l.canvas.DrawGlyph(draw.GlyphStyle{Color: c, Radius: r, Shape: shape}, p)
	}
}

// arrow runs from a to b and stops short of both marks. An arrow too short to
// be seen is left out.
func (l *layer) arrow(a, b vg.Point) {
	dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
	n := math.Hypot(dx, dy)
	const gap, head = 3.5, 4.5
	if n < 2*gap+head {
		return
	}
	dx, dy = dx/n, dy/n
	at := func(along, aside float64) vg.Point {
		return vg.Point{X: a.X + vg.Length(along*dx-aside*dy), Y: a.Y + vg.Length(along*dy+aside*dx)}
	}
	l.polyline(ink(inkBefore, 0.7), []vg.Point{at(gap, 0), at(n-gap, 0)})
	if l.inside(b) {
		tip := n - gap
		l.canvas.FillPolygon(inkBefore, []vg.Point{at(tip, 0), at(tip-head, 1.8), at(tip-head, -1.8)})
	}
}
