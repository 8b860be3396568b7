package report

import (
	"fmt"
	"io"
	"text/tabwriter"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/profiles/printable"
)

type pointRow struct {
	Name, Off, SD, Words, Lux, Readings string
	Missed                              bool
}

// pointStandings are the points of a run as standings, so that they are told as fixtures are.
func pointStandings(s *session.Summary) []Standing {
	var out []Standing
	for _, p := range s.Points {
		out = append(out, Standing{Name: p.Name, UV: p.UV, SD: p.SD, Lux: p.Lux})
	}
	return out
}

// pointsLead is a run over the points of a lit surface in a few sentences.
func pointsLead(s *session.Summary) string {
	asked := 0
	if s.Info.Core != nil && s.Info.Core.Points != nil {
		asked = len(s.Info.Core.Points.At)
	}
	text := fmt.Sprintf("Of %s of the lit surface %d were read.", printable.Count(asked, "point"), len(s.Points))
	within, worst := 0, -1
	for i, p := range s.Points {
		if p.Delta <= s.Info.Tolerance {
			within++
		}
		if worst < 0 || p.Delta > s.Points[worst].Delta {
			worst = i
		}
	}
	if worst < 0 {
		return text
	}
	w := s.Points[worst]
	text += fmt.Sprintf(" %d lie within %.4f of the target; the farthest, %s, is %.4f off.", within, s.Info.Tolerance, w.Name, w.Delta)
	all := pointStandings(s)
	if p, ok := WorstPair(all); ok {
		text += fmt.Sprintf(" The two that differ most are %s and %s, %.4f apart (± %.4f): the second is %s.", p.A, p.B, p.Delta, p.SD, p.Words)
	}
	for _, u := range Levels(all) {
		text += fmt.Sprintf(" Level: from %s lux (%s) to %s lux (%s), %.2f stops; the least is %.0f %% of the mean.", luxText(u.Least), u.Dimmest, luxText(u.Most), u.Brightest, u.Stops, 100*u.Ratio)
	}
	return text
}

func pointRows(s *session.Summary) []pointRow {
	var rows []pointRow
	for _, p := range s.Points {
		r := pointRow{Name: p.Name, Off: fmt.Sprintf("%.4f", p.Delta), SD: fmt.Sprintf("%.4f", p.SD), Readings: fmt.Sprint(p.Readings), Missed: p.Delta > s.Info.Tolerance}
		if s.Reference != nil {
			r.Words = colorcalc.Describe(s.Reference.UV.XY(), p.UV.XY())
		}
		if p.Lux > 0 {
			r.Lux = luxText(p.Lux)
		}
		rows = append(rows, r)
	}
	return rows
}

// pointMaps draws the points that have a place in a grid.
func pointMaps(s *session.Summary) []pageDiagram {
	grid := &session.Summary{Reference: s.Reference, Info: session.RunInfo{Tolerance: s.Info.Tolerance}}
	for _, p := range s.Points {
		grid.Fixtures = append(grid.Fixtures, session.FixtureSummary{FixtureInfo: session.FixtureInfo{Name: p.Name, Col: p.Col, Row: p.Row},
			Outcome: &session.Outcome{Final: &session.Stand{UV: p.UV, Delta: p.Delta, Lux: p.Lux}}})
	}
	return wallMaps(grid)
}

// WritePoints writes the points of a lit surface as a table.
func WritePoints(w io.Writer, s *session.Summary) {
	fmt.Fprintf(w, "\n%s\n", Lead(s))
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tw, "point\toff\t± (1 sd)\tlux\treadings\tin words")
	for _, r := range pointRows(s) {
		fmt.Fprintf(tw, "%s\t%s\t%s\t%s\t%s\t%s\n", r.Name, r.Off, r.SD, r.Lux, r.Readings, r.Words)
	}
	tw.Flush()
}
