package report

import (
	"html/template"
	"slices"

	"trueup/loop/session"
)

// runDiagrams draws what a run did: all of it as found and as it stands now,
// and a close view of where it stands now.
func runDiagrams(s *session.Summary) ([]pageDiagram, error) {
	var way, near []DiagramMark
	for _, f := range s.Fixtures {
		o := f.Final()
		if o == nil && f.Found != nil {
			way = append(way, DiagramMark{Name: f.Name, After: f.Found.UV.XY()})
			continue
		}
		if f.Fixed || o == nil || o.Found == nil || o.Final == nil {
			continue
		}
		missed := !o.Landed()
		way = append(way, DiagramMark{Name: f.Name, Before: o.Found.UV.XY(), Computed: o.Found.Computed, After: o.Final.UV.XY(), Missed: missed})
		if !missed {
			near = append(near, DiagramMark{Name: f.Name, After: o.Final.UV.XY()})
		}
	}
	if s.Reference == nil || len(way) == 0 {
		return nil, nil
	}
	target, crosses := s.Reference.UV.XY(), ""
	if slices.ContainsFunc(way, func(m DiagramMark) bool { return m.Computed }) {
		crosses = " A cross, and no ring, at the tail of an arrow: it was not read there, that is computed."
	}
	specs := []struct {
		d       DiagramSpec
		caption string
	}{
		{DiagramSpec{Marks: way, Target: target, TolUV: s.Info.Tolerance, Zoom: true},
			"From as found to now. The circle is the tolerance around the reference; the lines are the Planckian and the daylight locus." + crosses},
		{DiagramSpec{Marks: near, Target: target, TolUV: s.Info.Tolerance, Zoom: true, Close: true},
			"Where the landed fixtures stand now, close up. Each point is the estimate from all readings."},
		{DiagramSpec{Marks: way, Target: target, Gamuts: gamutsOf(s)},
			"The whole diagram. Dashed outlines are what each kind of fixture reaches by its profile: predicted, not measured."},
	}
	var out []pageDiagram
	for _, sp := range specs {
		if len(sp.d.Marks) == 0 {
			continue
		}
		svg, err := Diagram(sp.d)
		if err != nil {
			return nil, err
		}
		out = append(out, pageDiagram{SVG: template.HTML(svg), Caption: sp.caption})
	}
	return out, nil
}
