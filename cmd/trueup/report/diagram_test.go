package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"trueup/colorcalc"
)

func demoSpec(t testing.TB) DiagramSpec {
	t.Helper()
	at := func(k colorcalc.Kelvin, d colorcalc.Duv) colorcalc.XY {
		c, err := colorcalc.White(k, d)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	s := DiagramSpec{Target: at(5600, 0.001), TolUV: 0.001}
	for i, m := range [][4]float64{{5230, 0.004, 5590, .0012}, {5850, -.003, 5606, .0008}, {6200, .006, 5612, .001}, {4700, -.001, 5010, -.002}, {5600, .009, 5600, .0011}} {
		s.Marks = append(s.Marks, DiagramMark{Name: fmt.Sprintf("lamp %d", i+1), Before: at(colorcalc.Kelvin(m[0]), colorcalc.Duv(m[1])), After: at(colorcalc.Kelvin(m[2]), colorcalc.Duv(m[3])), Missed: i == 3})
	}
	return s
}

// texts reads the SVG as XML and gives its texts; it fails on anything that a
// browser might stumble over.
func texts(t *testing.T, svg []byte) string {
	t.Helper()
	if !bytes.HasPrefix(svg, []byte("<svg ")) {
		t.Fatalf("begins with %.20q", svg)
	}
	var out strings.Builder
	dec := xml.NewDecoder(bytes.NewReader(svg))
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return out.String()
		}
		if err != nil {
			t.Fatal(err)
		}
		if c, ok := tok.(xml.CharData); ok {
			out.Write(c)
			out.WriteByte('\n')
		}
	}
}

// picture leaves the SVG in the folder that TRUEUP_PICTURES names, to look at.
func picture(t *testing.T, name string, svg []byte) {
	t.Helper()
	dir := os.Getenv("TRUEUP_PICTURES")
	if dir == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(dir, "diagram-"+strings.ReplaceAll(name, " ", "-")+".svg"), svg, 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestADiagramNamesItsAxesLociAndLights(t *testing.T) {
	for _, zoom := range []bool{false, true} {
		for space, axis := range map[DiagramSpace]string{DiagramUV: "u′", DiagramXY: "x"} {
			s := demoSpec(t)
			s.Space, s.Zoom, s.Title = space, zoom, "before & after <all>"
			svg, err := Diagram(s)
			if err != nil {
				t.Fatal(err)
			}
			text := texts(t, svg)
			want := []string{axis, "before & after <all>", "lamp 4", " K"}
			if !zoom {
				want = append(want, "520", "6500 K")
			}
			for _, w := range want {
				if !strings.Contains(text, w) {
					t.Errorf("zoom %v, axis %s: no %q in the picture", zoom, axis, w)
				}
			}
			if bytes.Contains(svg, []byte("NaN")) || bytes.Contains(svg, []byte("Inf")) {
				t.Error("the picture holds numbers that are none")
			}
			picture(t, fmt.Sprintf("%d-%v", space, zoom), svg)
		}
	}
}

func TestADiagramOfNothingOrOfManyIsStillADiagram(t *testing.T) {
	many := demoSpec(t)
	many.Zoom = true
	for i := range 200 {
		m := many.Marks[i%4]
		m.Name = fmt.Sprintf("panel %d", i)
		many.Marks = append(many.Marks, m)
	}
	red := DiagramSpec{Zoom: true, Target: colorcalc.XY{X: .68, Y: .31}, TolUV: .001, Marks: []DiagramMark{
		{Name: "red 1", Before: colorcalc.XY{X: .70, Y: .295}, After: colorcalc.XY{X: .6798, Y: .3101}},
		{Name: "red 2", Before: colorcalc.XY{X: .66, Y: .33}, After: colorcalc.XY{X: .671, Y: .32}, Missed: true}}}
	one := DiagramSpec{Zoom: true, Marks: []DiagramMark{{Name: "only", After: colorcalc.XY{X: .3127, Y: .329}}}}
	for name, s := range map[string]DiagramSpec{"empty": {}, "empty zoom": {Zoom: true}, "many": many, "red": red, "one": one, "tiny": {Width: 40, Height: 40}} {
		svg, err := Diagram(s)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		picture(t, name, svg)
		texts(t, svg)
	}
}

func TestADiagramRefusesWhatIsNoColour(t *testing.T) {
	noisy := colorcalc.XY{X: .736, Y: .266} // a deep red with the noise of a meter
	if _, err := Diagram(DiagramSpec{Zoom: true, Target: noisy, TolUV: .001, Marks: []DiagramMark{{Name: "red", Before: noisy, After: noisy}}}); err != nil {
		t.Error(err)
	}
	bad := colorcalc.XY{X: math.NaN(), Y: .4}
	for _, s := range []DiagramSpec{{Target: bad}, {Marks: []DiagramMark{{Before: bad}}}, {Marks: []DiagramMark{{After: bad}}}, {TolUV: -1}} {
		if _, err := Diagram(s); err == nil {
			t.Errorf("%+v: drawn", s)
		}
	}
}

func TestTicksSayTheirExactValue(t *testing.T) {
	for _, r := range [][2]float64{{0, 1}, {-.02, .66}, {.1955, .2181}, {.3126, .3131}, {-40, 1234}} {
		ticks := roundTicks{}.Ticks(r[0], r[1])
		if len(ticks) < 3 || len(ticks) > 8 {
			t.Errorf("%v: %d ticks", r, len(ticks))
		}
		for _, k := range ticks {
			if v, err := strconv.ParseFloat(k.Label, 64); err != nil || math.Abs(v-k.Value) > 1e-9 || v < r[0]-1e-9 || v > r[1]+1e-9 {
				t.Errorf("%v: %v is labelled %q", r, k.Value, k.Label)
			}
		}
	}
}
