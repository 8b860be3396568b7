package quality

import (
	"testing"

	"trueup/colorcalc/internal/table"
)

// Sums as the standards, or two sources of the tables, give them.
func TestEmbeddedTablesHaveTheirPublishedSums(t *testing.T) {
	sum := func(v []float64) (s float64) {
		for _, x := range v {
			s += x
		}
		return s
	}
	near := func(a, b, eps float64) bool { return a-b <= eps && b-a <= eps }
	camera, day := table.Must(tlciCamera), table.Must(tlciDaylight)
	for k, want := range []float64{7140.45, 545.05, 201.55} {
		if c := sum(camera.Columns[k]); !near(c, 1, 2e-6) {
			t.Errorf("camera column %d sums to %v", k, c)
		}
		if d := sum(day.Columns[k]); !near(d, want, 0.005) {
			t.Errorf("daylight column %d sums to %v, want %v", k, d, want)
		}
	}
	lines := tlciLines()
	if len(lines[0]) != 152 || len(lines[1]) != 104 {
		t.Fatalf("loci of %d and %d points", len(lines[0]), len(lines[1]))
	}
	for k, want := range [][2]float64{{74.357659, 60.180968}, {31.602241, 33.132636}} {
		var x, y float64
		for _, p := range lines[k] {
			c := p.uv.XY()
			x, y = x+c.X, y+c.Y
		}
		if !near(x, want[0], 2e-6) || !near(y, want[1], 2e-6) {
			t.Errorf("locus %d sums to %v %v, want %v", k, x, y, want)
		}
	}
	for name, text := range map[string]struct {
		text          string
		rows, columns int
	}{"ces99": {ces99, 81, 99}, "cri_tcs": {criTCS, 95, 15}, "tlci_samples": {tlciSamples, 77, 18}, "tlci_greys": {tlciGreys, 77, 6}} {
		d := table.Must(text.text)
		if d.Len() != text.rows || len(d.Columns) != text.columns || d.StepNM != 5 {
			t.Errorf("%s: %d rows, %d columns", name, d.Len(), len(d.Columns))
		}
		for k, c := range d.Columns {
			for i, v := range c {
				if !(v >= 0 && v <= 1.1) {
					t.Errorf("%s %s row %d: %v is no reflectance", name, d.Names[k], i, v)
				}
			}
		}
	}
}
