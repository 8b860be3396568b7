package report

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// wallOf is a matched wall of panels, cols wide: each stands a little off, and those named missed.
func wallOf(n, cols int, missed ...int) *session.Summary {
	target := colorcalc.XY{X: 0.33, Y: 0.34}.UV()
	s := &session.Summary{Info: core.RunInfo{Rig: "wall", Target: "5600 K", Tolerance: 0.001}, Complete: true, Reference: &session.Reference{Name: "5600 K", UV: target}}
	for i := range n {
		f := session.FixtureSummary{FixtureInfo: core.FixtureInfo{Name: fmt.Sprintf("panel %d", i+1), Probe: "pole", Col: 1 + i%cols, Row: 1 + i/cols}}
		off, result := 0.0005*float64(i)/float64(n), solve.Landed
		for _, k := range missed {
			if k == i+1 {
				off, result = 0.004, solve.OutOfReach
			}
		}
		uv := colorcalc.UV{U: target.U + off, V: target.V}
		f.Outcome = &session.Outcome{Result: result, Found: &session.Stand{UV: uv, Delta: off}, Final: &session.Stand{UV: uv, Delta: off, Lux: 100}}
		f.Trace = make([]session.TracePoint, 3)
		s.Fixtures = append(s.Fixtures, f)
	}
	return s
}

// The report of a large rig shows what there is something to say of: those that missed and the
// farthest of the others. Every fixture is on it all the same, folded away.
func TestALargeRigIsToldShortly(t *testing.T) {
	s := wallOf(400, 20, 7, 300)
	var page bytes.Buffer
	if err := WritePage(&page, s, Extras{}); err != nil {
		t.Fatal(err)
	}
	open, folded, _ := strings.Cut(page.String(), "<details>")
	if n := strings.Count(open, "<tr"); n > 1+2+maxGood {
		t.Errorf("%d rows are shown at once", n)
	}
	for _, name := range []string{"panel 7<", "panel 300<", "panel 400<"} {
		if !strings.Contains(open, name) {
			t.Errorf("%s has something to say and is folded away", name)
		}
	}
	for i := range 400 {
		if name := fmt.Sprintf(">panel %d<", i+1); !strings.Contains(open, name) && !strings.Contains(folded, name) {
			t.Errorf("%s is nowhere", name)
		}
	}
	for _, want := range []string{"Of 400 fixtures: 398 landed, 2 out of reach.", "The two that differ most are"} {
		if !strings.Contains(open, want) {
			t.Errorf("the page does not begin with %q", want)
		}
	}
	if n := strings.Count(string(traceChart(s)), "3 readings"); n != maxTraces {
		t.Errorf("%d fixtures have their readings drawn", n)
	}
}

// A wall is drawn as it hangs, and a panel that was never read has a cross and no figure.
func TestAWallIsDrawnAsItHangs(t *testing.T) {
	s := wallOf(6, 3, 2)
	s.Fixtures[4].Outcome, s.Fixtures[4].Trace = nil, nil
	maps := wallMaps(s)
	if len(maps) != 2 {
		t.Fatalf("%d maps", len(maps))
	}
	svg := string(maps[0].SVG)
	cells := strings.Split(svg, "<g>")[1:]
	if len(cells) != 6 || !strings.Contains(cells[1], ">4.0</text>") || !strings.Contains(cells[4], "<path") || !strings.Contains(cells[4], "></text>") ||
		!strings.Contains(cells[3], `x="0" y="26"`) {
		t.Errorf("cells %q", cells)
	}
	for _, c := range []int{0, 1, 2, 3, 5} {
		if strings.Contains(cells[c], "<path") {
			t.Errorf("panel %d was read, and is crossed out", c+1)
		}
	}
	if maps := wallMaps(wallOf(1, 1)); maps != nil {
		t.Error("one lamp is no wall")
	}
}

// Figures on a wall stand out from every shade by 4.5 to 1 (WCAG 2.2, 1.4.3), also in grey print.
func TestFiguresOfAWallStandOut(t *testing.T) {
	luminance := func(v int) float64 {
		c := float64(v) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	const steps = 100
	placed := map[[2]int]string{}
	for i := range steps + 1 {
		placed[[2]int{i + 1, 1}] = fmt.Sprint(i)
	}
	svg := string(wall(steps+1, 1, placed, func(at [2]int) (float64, string, bool) { return float64(at[0]-1) / steps, "x", true }, "shades"))
	cells := regexp.MustCompile(`fill="rgb\((\d+),.*?fill="#(..)`).FindAllStringSubmatch(svg, -1)
	if len(cells) != steps+1 {
		t.Fatalf("%d cells", len(cells))
	}
	for _, c := range cells {
		var ground, ink int
		if _, err := fmt.Sscanf(c[1]+" "+c[2], "%d %x", &ground, &ink); err != nil {
			t.Fatal(err)
		}
		a, b := luminance(ground)+0.05, luminance(ink)+0.05
		if r := max(a, b) / min(a, b); r < 4.5 {
			t.Errorf("%s on grey %d: %.2f to 1", c[2], ground, r)
		}
	}
	if percent(0) != "0" || percent(math.Copysign(0, -1)) != "0" || percent(7) != "+7" || percent(-7) != "-7" {
		t.Error(percent(0), percent(7), percent(-7))
	}
}

// Time adds up: what led to entries about fixtures and what all needed are the run.
func TestTheTimeOfARunAddsUp(t *testing.T) {
	start := time.Date(2026, 11, 26, 1, 0, 0, 0, time.UTC)
	at := func(seconds int) time.Time { return start.Add(time.Duration(seconds) * time.Second) }
	m := &core.Measured{UV: colorcalc.UV{U: 0.2, V: 0.47}}
	s, err := session.Summarise([]session.Entry{
		{Time: at(0), Kind: core.KindRun, Run: &core.RunInfo{Fixtures: []core.FixtureInfo{{Name: "a"}, {Name: "b"}}}},
		{Time: at(5), Kind: core.KindBackground, Reading: m},
		{Time: at(8), Kind: core.KindFound, Fixture: "a", Reading: m}, {Time: at(20), Kind: core.KindFound, Fixture: "b", Reading: m},
		{Time: at(21), Kind: core.KindReading, Fixture: "a", Reading: m}, {Time: at(30), Kind: core.KindEnd}})
	if err != nil {
		t.Fatal(err)
	}
	if a, b := s.Fixtures[0].Spent, s.Fixtures[1].Spent; a != 4*time.Second || b != 12*time.Second || s.Common != 14*time.Second {
		t.Errorf("a %v, b %v, all %v", a, b, s.Common)
	}
	if text := strings.Join(whereTimeWent(s), " "); !strings.Contains(text, "took 30 s: 16 s at the fixtures, 14 s for") || !strings.Contains(text, "b with 12 s") {
		t.Error(text)
	}
}

// The outline of a lamp is its emitters', without those inside.
func TestAGamutIsTheOutlineOfTheEmitters(t *testing.T) {
	s := &session.Summary{Info: core.RunInfo{Core: &core.Config{Units: []core.Unit{{Info: core.FixtureInfo{Profile: "Wash"},
		Spec: solve.Spec{Emitters: []solve.Emitter{{UV: colorcalc.UV{U: 0.5, V: 0.52}}, {UV: colorcalc.UV{U: 0.08, V: 0.57}}, {UV: colorcalc.UV{U: 0.17, V: 0.13}}, {UV: colorcalc.UV{U: 0.21, V: 0.49}}}}}}}}}
	g := gamutsOf(s)
	if len(g) != 1 || g[0].Name != "Wash" || len(g[0].Corners) != 3 {
		t.Fatalf("%+v", g)
	}
	for _, c := range g[0].Corners {
		if math.Hypot(c.UV().U-0.21, c.UV().V-0.49) < 0.01 {
			t.Error("white is a corner")
		}
	}
}
