package report

import (
	"bytes"
	"html"
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Inks of the diagram. They keep their order of darkness in grey print.
var (
	inkText   = color.NRGBA{0x33, 0x33, 0x33, 0xff}
	inkGround = color.NRGBA{0xf4, 0xf4, 0xf2, 0xff}
	inkEdge   = color.NRGBA{0xa8, 0xa8, 0xa4, 0xff}
	inkLocus  = color.NRGBA{0x6b, 0x6b, 0x68, 0xff}
	inkBefore = color.NRGBA{0x8c, 0x8c, 0x8c, 0xff}
	inkAfter  = color.NRGBA{0x0b, 0x5c, 0xad, 0xff}
	inkMissed = color.NRGBA{0xc0, 0x39, 0x1b, 0xff}
	inkTarget = color.NRGBA{0x11, 0x11, 0x11, 0xff}
)

func ink(c color.Color, w vg.Length, dash ...vg.Length) draw.LineStyle {
	return draw.LineStyle{Color: c, Width: w, Dashes: dash}
}

func styleDiagram(p *plot.Plot) {
	p.BackgroundColor = nil // the page shows through
	p.Title.TextStyle.Color = inkText
	p.Title.TextStyle.Font.Size = 11
	p.Title.TextStyle.Font.Variant = "Sans"
	p.Title.Padding = 6
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Padding = 0
		a.Tick.Marker = roundTicks{}
		a.Color = inkEdge
		a.LineStyle.Width = 0.6
		a.Label.TextStyle.Font.Size = 10
		a.Label.TextStyle.Font.Variant = "Sans"
		a.Label.TextStyle.Color = inkText
		a.Tick.Label.Font.Size = 8
		a.Tick.Label.Font.Variant = "Sans"
		a.Tick.Label.Color = inkText
		a.Tick.LineStyle = ink(inkEdge, 0.6)
	}
}

// smallText is the style of labels inside the diagram.
func (l *layer) smallText(c color.Color, size vg.Length) draw.TextStyle {
	s := plot.New().X.Tick.Label
	s.Font.Size, s.Font.Variant, s.Color = size, "Sans", c
	s.XAlign, s.YAlign, s.Rotation = draw.XLeft, draw.YCenter, 0
	return s
}

// cleanSVG keeps the svg element alone, gives it a description for readers
// that cannot see it and fonts that are found everywhere.
func cleanSVG(svg []byte, label string) []byte {
	if i := bytes.Index(svg, []byte("<svg")); i >= 0 {
		svg = svg[i:]
	}
	for {
		i := bytes.Index(svg, []byte("<!--"))
		if i < 0 {
			break
		}
		j := bytes.Index(svg[i:], []byte("-->"))
		if j < 0 {
			break
		}
		svg = append(svg[:i:i], svg[i+j+3:]...)
	}
	head := `<svg role="img" aria-label="` + html.EscapeString(label) + `"`
	svg = append([]byte(head), svg[len("<svg"):]...)
	return bytes.ReplaceAll(svg, []byte("font-family:Liberation Sans"), []byte("font-family:Liberation Sans,Arial,Helvetica,sans-serif"))
}
