package report

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"trueup/colorcalc"
	"trueup/loop/session"
)

func near(t *testing.T, what string, got *float64, want, within float64) {
	t.Helper()
	if got == nil || math.Abs(*got-want) > within {
		t.Errorf("%s: %s, want %g", what, signed("%g", got), want)
	}
}

// A light beside another: black bodies by the table of CIE 015 (4000 K at x 0.3805 y 0.3768,
// 5000 K at 0.3451 0.3516), twice the light is a stop, and what is not comparable has no figure.
func TestLightsAreSetBesideOne(t *testing.T) {
	uv := func(x, y float64) colorcalc.UV { return colorcalc.XY{X: x, Y: y}.UV() }
	all := []Standing{{Name: "warm", Probe: "mark", UV: uv(0.3805, 0.3768), Lux: 100}, {Name: "cool", Probe: "mark", UV: uv(0.3451, 0.3516), Lux: 200},
		{Name: "far", Probe: "wing", UV: uv(0.3451, 0.3516), Lux: 200}, {Name: "green", Probe: "mark", UV: uv(0.2, 0.7)}}
	c := Compare(all, all[0])
	near(t, "kelvin", c.Rows[1].DeltaCCT, 1000, 5)
	near(t, "Duv", c.Rows[1].DeltaDuv, 0, 0.0002)
	near(t, "stops", c.Rows[1].Stops, 1, 1e-9)
	near(t, "distance", &c.Rows[1].Delta, math.Hypot(0.21143-0.22513, 0.48467-0.50161), 1e-4)
	if c.Rows[2].Stops != nil || c.Rows[3].Stops != nil || c.Rows[3].DeltaCCT != nil {
		t.Errorf("levels at two probes, no level, and no colour temperature have figures: %+v", c.Rows[2:])
	}
	mean, missing := MeanOf("both", []string{"warm", "cool", "gone"}, all)
	if mean.Lux != 150 || len(missing) != 1 || math.Abs(mean.UV.Dist(all[0].UV)-mean.UV.Dist(all[1].UV)) > 1e-12 {
		t.Errorf("mean %+v, missing %v", mean, missing)
	}
	if mean, _ := MeanOf("apart", []string{"warm", "far"}, all); mean.Lux != 0 {
		t.Error("levels of two probes have a mean")
	}
	p, ok := WorstPair(all[:3])
	if !ok || p.A != "warm" || p.B != "cool" || !strings.Contains(p.Words, "cooler") {
		t.Errorf("worst pair %+v", p)
	}
	u := Levels(all)
	if len(u) != 1 || u[0].Dimmest != "warm" || u[0].Brightest != "cool" || math.Abs(u[0].Ratio-100.0/150) > 1e-12 || u[0].Stops != 1 {
		t.Errorf("levels %+v", u)
	}
}

// Every run that was ever recorded can be told to another program, and a figure is there only
// where something was measured.
func TestEveryJournalIsToldAsJSON(t *testing.T) {
	paths, err := filepath.Glob("../../../testdata/journals/*/*.jsonl")
	if err != nil || len(paths) < 16 {
		t.Fatal(paths, err)
	}
	for _, path := range paths {
		f, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		s, err := session.ReadSummary(f)
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := WriteRunJSON(&b, "here", s, nil); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		var got struct {
			Fixtures []struct {
				Name, Result string
				Now          *struct {
					U float64 `json:"u_prime"`
				}
			}
		}
		if err := json.Unmarshal(b.Bytes(), &got); err != nil || len(got.Fixtures) != len(s.Fixtures) {
			t.Fatalf("%s: %v\n%s", path, err, b.String())
		}
		for i, f := range got.Fixtures {
			o := s.Fixtures[i].Final()
			if measured := o != nil && o.Final != nil; measured != (f.Now != nil) || f.Now != nil && !(f.Now.U > 0) || f.Result == "" {
				t.Errorf("%s: %+v", path, f)
			}
		}
	}
}
