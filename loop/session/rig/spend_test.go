package rig

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// What a person may write of what emitters are spent on, and what is said of what makes no sense.
func TestSpend(t *testing.T) {
	dir := t.TempDir()
	profile := "profile: Six\nmodes:\n  - mode: six\n    kind: emitters\n    slots: 4\n    emitters:\n      - {name: red, slots: [1]}\n      - {name: green, slots: [2]}\n      - {name: blue, slots: [3]}\n      - {name: lime, slots: [4]}\n"
	camera := "nm,red,green,blue\n"
	for nm := 380; nm <= 780; nm += 20 {
		camera += strings.Join([]string{strconv.Itoa(nm), strconv.Itoa(max(0, 100-abs(nm-600))), strconv.Itoa(max(0, 100-abs(nm-540))), strconv.Itoa(max(0, 100-abs(nm-460)))}, ",") + "\n"
	}
	for name, text := range map[string]string{"six.yaml": profile, "cam.csv": camera, "two.csv": "nm,a,b\n380,1,2\n480,1,2\n580,1,2\n680,1,2\n780,1,2\n"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct{ target, fault string }{
		{"{color: D56, spend: likeness}", ""},
		{"{color: D56, spend: likeness, camera: cam.csv, level_floor: 50 %}", ""},
		{"{color: D56, spend: most light}", ""},
		{"{color: D56, spend: most alike, level_floor: 50 %}", `spend is "most alike": want`},
		{"{color: D56, level_floor: 50 %}", "a level floor goes with spend: likeness or rendering"},
		{"{color: D56, spend: rendering, camera: cam.csv}", "a camera goes with spend: likeness"},
		{"{color: D56, spend: likeness, camera: none.csv}", "none.csv"},
		{"{color: D56, spend: likeness, camera: two.csv}", "2 columns after the wavelength"},
		{"{color: D56, spend: likeness, level_floor: 0 %}", "is not above 0 %"},
	} {
		path := filepath.Join(dir, "rig.yaml")
		text := "rig: r\ntarget: " + c.target + "\nfixtures: [{name: a, profile: six.yaml, address: 1/1}]\n"
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		r, err := Load(path)
		switch {
		case c.fault == "" && err != nil:
			t.Errorf("%s: %v", c.target, err)
		case strings.Contains(c.target, "most alike") && err != nil && strings.Contains(err.Error(), "goes with"):
			t.Errorf("%s: one wrong word is more than one error: %v", c.target, err)
		case c.fault != "" && (err == nil || !strings.Contains(err.Error(), c.fault)):
			t.Errorf("%s: %v, want %q", c.target, err, c.fault)
		case strings.Contains(c.target, "cam.csv, level") && (r.Target.Spend.Floor != 0.5 || r.Target.Spend.Camera == nil || r.Target.Spend.Camera.Name != "cam.csv"):
			t.Errorf("%s: read as %+v", c.target, r.Target.Spend)
		case c.target == "{color: D56, spend: likeness}" && r.Target.Spend.Floor != DefaultFloor:
			t.Errorf("%s: floor %v", c.target, r.Target.Spend.Floor)
		}
	}
}

func abs(v int) int { return max(v, -v) }
