package report

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strings"

	"trueup/loop/session"
)

// wallMaps draws the fixtures that have a place in a grid as the wall shows them: how far each
// stands from the target, and how much light it gives beside the mean at its probe. Each cell has its figure,
// so that nothing rests on shades alone. A cell that was never read is crossed out.
func wallMaps(s *session.Summary) []pageDiagram {
	cols, rows := 0, 0
	cells := map[[2]int]Standing{}
	placed := map[[2]int]string{}
	stand := map[string]Standing{}
	for _, st := range Standings(s) {
		stand[st.Name] = st
	}
	for _, f := range s.Fixtures {
		if f.Col < 1 || f.Row < 1 {
			continue
		}
		at := [2]int{f.Col, f.Row}
		if placed[at] != "" { // heads share a place: the first stands for it
			continue
		}
		placed[at] = f.Name
		cols, rows = max(cols, f.Col), max(rows, f.Row)
		if st, ok := stand[f.Name]; ok {
			cells[at] = st
		}
	}
	if len(placed) < 2 || s.Reference == nil || cols > maxWall || rows > maxWall {
		return nil
	}
	mean := map[string]float64{}
	count := map[string]float64{}
	for _, st := range cells {
		if st.Lux > 0 {
			mean[st.Probe] += st.Lux
			count[st.Probe]++
		}
	}
	target := s.Reference.UV
	maps := []pageDiagram{{SVG: wall(cols, rows, placed, func(at [2]int) (float64, string, bool) {
		st, ok := cells[at]
		if !ok {
			return 0, "", false
		}
		d := st.UV.Dist(target)
		return d / (3 * s.Info.Tolerance), fmt.Sprintf("%.1f", 1000*d), true
	}, "distance from the target on the wall"),
		Caption: fmt.Sprintf("The wall from the front: distance from the target in thousandths of u′v′ (the tolerance is %.1f). Darker is farther; a cross was not read.", 1000*s.Info.Tolerance)}}
	if len(mean) > 0 {
		maps = append(maps, pageDiagram{SVG: wall(cols, rows, placed, func(at [2]int) (float64, string, bool) {
			st, ok := cells[at]
			if !ok || !(st.Lux > 0) {
				return 0, "", false
			}
			d := st.Lux/(mean[st.Probe]/count[st.Probe]) - 1
			return math.Abs(d) / 0.10, percent(math.Round(100 * d)), true
		}, "level on the wall"),
			Caption: "Level of each beside the mean of those that the same probe saw, in percent. Darker is farther from the mean."})
	}
	return maps
}

// percent is a whole number with its sign, and zero without one.
func percent(v float64) string {
	if v == 0 {
		return "0"
	}
	return fmt.Sprintf("%+.0f", v)
}

// maxWall bounds the sides of a wall that is drawn.
const maxWall = 100

// whiteBelow is the grey below which white figures stand out more than black ones. On every grey the better of the two stands out by
// 4.5 to 1, as small text has to (WCAG 2.2, 1.4.3); the report's own ink would not.
const whiteBelow = 118

// wall draws cells of a shade from 0 to 1, each with its text.
func wall(cols, rows int, placed map[[2]int]string, cell func([2]int) (shade float64, text string, ok bool), label string) template.HTML {
	const w, h = 40, 26
	var b strings.Builder
	fmt.Fprintf(&b, `<svg viewBox="0 0 %d %d" width="%d" role="img" aria-label="%s" font-family="Georgia, serif" font-size="11" text-anchor="middle">`, cols*w, rows*h, cols*w, label)
	for row := 1; row <= rows; row++ {
		for col := 1; col <= cols; col++ {
			at := [2]int{col, row}
			name, ok := placed[at]
			if !ok {
				continue
			}
			x, y := (col-1)*w, (row-1)*h
			shade, text, read := cell(at)
			level := 250 - int(170*min(max(shade, 0), 1))
			fmt.Fprintf(&b, `<g><title>%s</title><rect x="%d" y="%d" width="%d" height="%d" fill="rgb(%d,%d,%d)" stroke="#fdfcf9"/>`, html.EscapeString(name), x, y, w, h, level, level, level)
			ink := "#000000"
			if level < whiteBelow {
				ink = "#ffffff"
			}
			if !read {
				fmt.Fprintf(&b, `<path d="M%d %dL%d %dM%d %dL%d %d" stroke="#1c1b19"/>`, x+12, y+6, x+w-12, y+h-6, x+12, y+h-6, x+w-12, y+6)
			}
			fmt.Fprintf(&b, `<text x="%d" y="%d" fill="%s">%s</text></g>`, x+w/2, y+h/2+4, ink, text)
		}
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}
