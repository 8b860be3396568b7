package report

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// layer draws on the data area of one diagram.
type layer struct {
	*diagram
	canvas draw.Canvas
	zoomed bool
	place  func(colorcalc.XY) vg.Point
	taken  []vg.Rectangle // labels that stand already
}

// polyline strokes a line, cut at the edge of the data area.
func (l *layer) polyline(s draw.LineStyle, pts []vg.Point) {
	l.canvas.StrokeLines(s, l.canvas.ClipLinesXY(pts)...)
}

func (l *layer) inside(p vg.Point) bool {
	r := l.canvas.Rectangle
	return p.X >= r.Min.X && p.X <= r.Max.X && p.Y >= r.Min.Y && p.Y <= r.Max.Y
}

// spectralLocus draws the horseshoe and the line of purples. Below 400 and
// above 700 nm it hardly moves.
func (l *layer) spectralLocus() {
	var pts []vg.Point
	for nm := 390.0; nm <= 700; nm++ {
		c, err := spectrum.Monochromatic(nm)
		if err == nil {
			pts = append(pts, l.place(c))
		}
	}
	pts = append(pts, pts[0])
	l.canvas.FillPolygon(inkGround, l.canvas.ClipPolygonXY(pts))
	l.polyline(ink(inkEdge, 0.9), pts)
	if l.zoomed {
		return
	}
	centre := l.place(colorcalc.XY{X: 1.0 / 3, Y: 1.0 / 3})
	for _, nm := range []float64{420, 460, 470, 480, 490, 500, 510, 520, 540, 560, 580, 600, 620, 700} {
		c, err := spectrum.Monochromatic(nm)
		if err != nil {
			continue
		}
		p := l.place(c)
		// outwards along the normal of the horseshoe
		a, _ := spectrum.Monochromatic(nm - 2)
		b, _ := spectrum.Monochromatic(nm + 2)
		q, r := l.place(a), l.place(b)
		nx, ny := float64(q.Y-r.Y), float64(r.X-q.X)
		n := math.Hypot(nx, ny)
		if n == 0 {
			continue
		}
		nx, ny = nx/n, ny/n
		if nx*float64(p.X-centre.X)+ny*float64(p.Y-centre.Y) < 0 {
			nx, ny = -nx, -ny
		}
		out := func(k float64) vg.Point { return vg.Point{X: p.X + vg.Length(k*nx), Y: p.Y + vg.Length(k*ny)} }
		l.polyline(ink(inkEdge, 0.6), []vg.Point{p, out(3)})
		st := l.smallText(inkLocus, 7)
		st.XAlign, st.YAlign = draw.XCenter, draw.YCenter
		l.canvas.FillText(st, out(11), fmt.Sprintf("%.0f", nm))
	}
}

// daylightLocus draws CIE daylight, 4000-25000 K, dashed.
func (l *layer) daylightLocus() {
	var pts []vg.Point
	for m := 40.0; m <= 250; m += 2 {
		if c, err := colorcalc.Daylight(colorcalc.Mired(m).Kelvin()); err == nil {
			pts = append(pts, l.place(c))
		}
	}
	l.polyline(ink(inkLocus, 0.7, 3, 2), pts)
}

// planckianLocus draws black bodies of 1000-25000 K with short bars across at
// round temperatures; in a zoomed diagram the bars are lines of equal
// temperature from Duv -0.01 to +0.01.
func (l *layer) planckianLocus() {
	var pts []vg.Point
	for m := 40.0; m <= 1000; m += 2 {
		if c, err := colorcalc.White(colorcalc.Mired(m).Kelvin(), 0); err == nil {
			pts = append(pts, l.place(c))
		}
	}
	l.polyline(ink(inkLocus, 1.1), pts)
	reach := colorcalc.Duv(0.006)
	if l.zoomed {
		reach = 0.01
	}
	for _, k := range l.temperatures() {
		a, err1 := colorcalc.White(colorcalc.Kelvin(k), -reach)
		b, err2 := colorcalc.White(colorcalc.Kelvin(k), reach)
		if err1 == nil && err2 == nil {
			l.polyline(ink(inkEdge, 0.6), []vg.Point{l.place(a), l.place(b)})
		}
	}
}

// names writes the temperatures and the name of the daylight locus, where the
// lights have left room.
func (l *layer) names() {
	for _, k := range l.temperatures() {
		if !l.zoomed && (k == 1500 || k > 6500) {
			continue // too crowded at this scale
		}
		duv := colorcalc.Duv(0)
		if !l.zoomed {
			duv = -0.008
		}
		if c, err := colorcalc.White(colorcalc.Kelvin(k), duv); err == nil && l.inside(l.place(c)) {
			l.label(l.place(c), fmt.Sprintf("%.0f K", k), inkLocus, 7)
		}
	}
	if !l.zoomed {
		return
	}
	for m := 40.0; m <= 250; m++ { // where the dashed line enters the window
		c, err := colorcalc.Daylight(colorcalc.Mired(m).Kelvin())
		if err == nil && l.inside(l.place(c)) && l.label(l.place(c), "daylight", inkLocus, 7) {
			return
		}
	}
}

// temperatures picks round temperatures: a fixed set for the whole diagram,
// about six for a window.
func (l *layer) temperatures() []float64 {
	if !l.zoomed {
		return []float64{1500, 2000, 2700, 4000, 6500, 10000, 25000}
	}
	lo, hi := math.Inf(1), 0.0
	for m := 40.0; m <= 1000; m++ {
		k := colorcalc.Mired(m).Kelvin()
		if c, err := colorcalc.White(k, 0); err == nil && l.inside(l.place(c)) {
			lo, hi = min(lo, float64(k)), max(hi, float64(k))
		}
	}
	if !(hi > lo) {
		return nil
	}
	for _, step := range []float64{10, 20, 50, 100, 200, 500, 1000} {
		if (hi-lo)/step <= 8 {
			var out []float64
			for k := math.Ceil(lo/step) * step; k <= hi; k += step {
				out = append(out, k)
			}
			return out
		}
	}
	var out []float64
	for _, k := range []float64{1200, 1500, 2000, 2700, 3200, 4000, 5000, 6500, 10000, 20000} {
		if k >= lo && k <= hi {
			out = append(out, k)
		}
	}
	return out
}

// A browser writes in a font of its own, which may be wider than the one that is measured with; and a name that touches the next
// reads as one with it.
const (
	labelRoom = 1.15
	labelGap  = 3
)

// label puts a text beside a point, on the first of eight places that is free
// and inside; it gives up where all are taken, for a heap of labels says
// nothing.
func (l *layer) label(at vg.Point, text string, c color.Color, size vg.Length) bool {
	st := l.smallText(c, size)
	w, h := labelRoom*st.Width(text)+labelGap, size
	for _, gap := range []vg.Length{5, 11} {
		for _, d := range [][2]vg.Length{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {.8, .8}, {-.8, .8}, {.8, -.8}, {-.8, -.8}} {
			x, y := at.X+d[0]*gap, at.Y+d[1]*gap
			switch {
			case d[0] < 0:
				x -= w
			case d[0] == 0:
				x -= w / 2
			}
			r := vg.Rectangle{Min: vg.Point{X: x, Y: y - h/2}, Max: vg.Point{X: x + w, Y: y + h/2}}
			if !l.inside(r.Min) || !l.inside(r.Max) || l.overlaps(r) {
				continue
			}
			l.taken = append(l.taken, r)
			l.canvas.FillText(st, vg.Point{X: x, Y: y}, text)
			return true
		}
	}
	return false
}

func (l *layer) overlaps(r vg.Rectangle) bool {
	for _, t := range l.taken {
		if r.Min.X < t.Max.X && t.Min.X < r.Max.X && r.Min.Y < t.Max.Y && t.Min.Y < r.Max.Y {
			return true
		}
	}
	return false
}
