package report

import (
	"gonum.org/v1/plot/vg"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/solve/num"
)

// A Gamut is the outline of what a kind of lamp reaches.
type Gamut struct {
	Name    string
	Corners []colorcalc.XY
}

// gamutsOf are the outlines of the emitter modes of a run, one for each kind of lamp: the hull of
// the emitters as the profile has them. They are nominal; nothing in them was measured.
func gamutsOf(s *session.Summary) []Gamut {
	if s.Info.Core == nil {
		return nil
	}
	var out []Gamut
	seen := map[string]bool{}
	for _, u := range s.Info.Core.Units {
		name := u.Info.Profile
		if u.Head < 0 || seen[name] || len(u.Spec.Emitters) < 3 {
			continue
		}
		seen[name] = true
		var all []colorcalc.UV
		for _, e := range u.Spec.Emitters {
			all = append(all, e.UV)
		}
		g := Gamut{Name: name}
		for _, c := range num.Hull(all) {
			g.Corners = append(g.Corners, c.XY())
		}
		if len(g.Corners) > 2 {
			out = append(out, g)
		}
	}
	return out
}

// gamuts draws the outlines, each dashed in its own way, and names them at a corner.
func (l *layer) gamuts() {
	for i, g := range l.spec.Gamuts {
		var pts []vg.Point
		for _, c := range g.Corners {
			pts = append(pts, l.place(c))
		}
		if len(pts) < 3 {
			continue
		}
		l.polyline(ink(inkLocus, 0.8, vg.Length(2+2*(i%4)), 2), append(pts, pts[0]))
		if !l.zoomed && len(l.spec.Gamuts) <= 6 {
			l.label(pts[i%len(pts)], g.Name, inkText, 7)
		}
	}
}
