package stage

import (
	"errors"
	"strings"
	"testing"
	"time"

	"trueup/profiles/yamlfile"
)

const everyKey = `seed: 7
spill: 0.01
lux: 500
ambient: {lux: 0.4, kelvin: 3000, duv: 0.002}
meter:
  integration_ms: 120
  period_ms: 160
  latency_ms: 20
  sigma_uv: 0.0004
  sigma_level: 0.006
  round_xy: 0.0001
  round_lux: 0.1
  outliers: 0.01
  dropouts: 0.01
  stale: 0.005
lamps:
  - profile: Wash A
    law: square
    dimmer_law: linear
    cut_off: 0.02
    limit: 0.7
    spread: 1
    kind_spread: 1
    heat: 1
    heat_time_s: 200
    current_shift_nm: 0.5
    response_ms: 80
    delay_ms: 30
    emitters:
      - {name: red, like: deep red, peak_nm: 655, fwhm_nm: 20, flux: 0.2, droop_per_k: 0.003, drift_nm_per_k: 0.1}
      - {name: white, leak: 0.3}
  - fixture: wash 2
    unit: b
    lux: 900
    warm: 0.5
    dead: false
    swapped: [red, green]
    address_off: -2
  - profile: Panel B
    engine: {from_k: 2500, to_k: 7000, mired_steps: true, tint_from: 0.01, tint_to: -0.01, early: 0.03}
  - fixture: window
    emitters: [{name: arc, like: old arc, kelvin: 4600}]
    unrest: {level: 0.004, colour: 0.003, ageing_per_hour: 0.01}
`

func TestStageFileReadsEveryKey(t *testing.T) {
	f, err := ParseFile("stage.yaml", []byte(everyKey))
	if err != nil {
		t.Fatal(err)
	}
	m := f.MeterSpec()
	if f.Seed != 7 || m.Integration != 120*time.Millisecond || m.Stale != 0.005 || len(f.Lamps) != 4 || *f.Lamps[0].Limit != 0.7 {
		t.Errorf("read %+v", f)
	}
	if e := f.Lamps[0].Emitters[0].emitter(); e.Name != "red" || e.Peak != 655 || e.Flux != 0.2 || e.Form != LED {
		t.Errorf("emitter %+v", e)
	}
}

// An empty file is an ordinary stage, and its meter has ordinary figures.
func TestEmptyStageFileIsAnOrdinaryStage(t *testing.T) {
	f, err := ParseFile("stage.yaml", []byte("seed: 1\n"))
	if err != nil {
		t.Fatal(err)
	}
	if m := f.MeterSpec(); m.Integration <= 0 || m.Period < m.Integration || m.SigmaUV <= 0 {
		t.Errorf("meter %+v", m)
	}
}

func TestStageFileErrorsNameTheirPlace(t *testing.T) {
	for _, c := range []struct{ text, place, words string }{
		{"sed: 1\n", ":1:1:", "seed"},
		{"meter:\n  integration_ms: 300\n  period_ms: 200\n", ":1:", "period_ms"},
		{"lamps:\n  - {law: square}\n", ":2:", "profile"},
		{"lamps:\n  - {profile: A, law: cubic}\n", ":2:", "linear"},
		{"lamps:\n  - {profile: A}\n  - {profile: A}\n", ":3:", "already"},
		{"lamps:\n  - fixture: A\n    emitters: [{name: gren}]\n", ":3:", "green"},
		{"meter: {outliers: 2}\n", ":1:", "0 to 1"},
		{"spill: .nan\n", ":1:", "number"},
		{"ambient: {lux: 1, kelvin: 3000, blink: {share: 1, from_s: 9, to_s: 3}}\n", ":1:", "to_s"},
		{"lamps:\n  - {profile: A, weak: [{gain: 0}]}\n", ":2:", "emitter"},
	} {
		_, err := ParseFile("stage.yaml", []byte(c.text))
		var all yamlfile.Errors
		if !errors.As(err, &all) {
			t.Errorf("%q: %v is not a list of located errors", c.text, err)
			continue
		}
		if s := err.Error(); !strings.Contains(s, "stage.yaml"+c.place) || !strings.Contains(s, c.words) {
			t.Errorf("%q:\n%s\nwant place %q and %q", c.text, s, c.place, c.words)
		}
	}
}

func FuzzStageFile(f *testing.F) {
	f.Add(everyKey)                               // every key once
	f.Add("lamps: [{profile: a, emitters: []}]")  // too short a list
	f.Add("meter: {integration_ms: 1e308}")       // a number far out of range
	f.Add("lamps:\n- fixture: x\n  engine: {}\n") // an empty group
	f.Add("seed: -1")                             // not a seed
	f.Add("\t")                                   // YAML forbids tabs
	f.Fuzz(func(t *testing.T, text string) {
		file, err := ParseFile("f", []byte(text))
		if err != nil {
			if err.Error() == "" {
				t.Error("an error without words")
			}
			return
		}
		m := file.MeterSpec()
		if m.Integration <= 0 || m.Period < m.Integration || !(m.SigmaUV >= 0 && m.SigmaUV <= 0.05) || !(m.Outlier >= 0 && m.Outlier <= 1) {
			t.Errorf("accepted a meter %+v", m)
		}
		if a := file.AmbientSpec().Light; !(a.Y >= 0) {
			t.Errorf("accepted an ambient light %v", a)
		}
	})
}
