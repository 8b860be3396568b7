package stage

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"
	"time"

	"trueup/colorcalc"
)

const minute = time.Minute

func white(lux float64) colorcalc.XYZ { return White(colorcalc.Kelvin(4000).Mired(), 0).XYZ(lux) }

// A walk spreads as the root of time: over many seeds its level scatters by the stated
// fraction after one minute and by twice that after four, and its colour too.
func TestAmbientWalks(t *testing.T) {
	const n = 800
	f := File{Ambient: &AmbientFile{Lux: 100, Kelvin: 4000, Walk: 0.02, Tint: 0.0005}}
	for k, at := range []time.Duration{minute, 4 * minute} {
		var level, tint float64
		for seed := range uint64(n) {
			a := NewAmbient(f.AmbientSpec(), seed, "mark")
			c := a.At(at)
			l := math.Log(c.Y / 100)
			level += l * l / n
			d := c.UV().Dist(white(1).UV())
			tint += d * d / 2 / n
		}
		// The standard deviation of 800 draws is known to 2.5 %.
		near(t, "level", math.Sqrt(level), 0.02*float64(k+1), 0.002*float64(k+1))
		near(t, "colour", math.Sqrt(tint), 0.0005*float64(k+1), 0.00005*float64(k+1))
	}
}

// The light at a moment does not depend on when it was looked at before.
func TestAmbientIsAFunctionOfTime(t *testing.T) {
	spec := AmbientSpec{Light: white(10), Walk: 0.01, Tint: 1e-4, Blink: 1, BlinkFrom: time.Second, BlinkTo: 3 * time.Second}
	a, b := NewAmbient(spec, 7, "mark"), NewAmbient(spec, 7, "mark")
	late := a.At(90 * time.Second)
	for s := range 90 {
		b.At(time.Duration(s) * time.Second)
	}
	if got := b.At(90 * time.Second); got != late {
		t.Errorf("%v by one look, %v after many", late, got)
	}
}

// A drift, a step, a swing and a blinking neighbour in the stage file are in the readings.
func TestRoomOfTheStageFileLives(t *testing.T) {
	meter := "meter: {sigma_uv: 0, sigma_level: 0, round_lux: 0}\n"
	lux := func(text string) (out []float64) {
		h := still(t, small(t), meter+text)
		for _, r := range h.Advance(2 * minute) {
			out = append(out, r.Sample.Lux)
		}
		return out
	}
	drift := lux("ambient: {lux: 100, kelvin: 4000, drift: 0.2}\n")
	near(t, "after two minutes", drift[len(drift)-1], 104, 0.05) // a fifth in ten minutes
	step := lux("ambient: {lux: 100, kelvin: 4000, step: {at_s: 60, factor: 1.5}}\n")
	near(t, "before the step", step[len(step)/2-2], 100, 1e-6)
	near(t, "after the step", step[len(step)/2+2], 150, 1e-6)
	swing := lux("ambient: {lux: 100, kelvin: 4000, swing: {share: 0.3, period_s: 13}}\n")
	if lowest, highest := slices.Min(swing), slices.Max(swing); lowest < 70-1e-6 || lowest > 80 || highest > 130+1e-6 || highest < 120 {
		t.Errorf("swinging: %.1f to %.1f lux", lowest, highest)
	}
	for i := range swing[1:] { // no wave is steeper than 2 pi / 13 s
		if step := math.Abs(swing[i+1] - swing[i]); step > 30*2*math.Pi/13*0.25 {
			t.Errorf("swinging: %.1f lux from one reading to the next", step)
			break
		}
	}
	low, high, other := 0, 0, 0
	for _, y := range lux("ambient: {lux: 100, kelvin: 4000, blink: {share: 2, from_s: 3, to_s: 20}}\n") {
		switch {
		case math.Abs(y-100) < 1e-6:
			low++
		case math.Abs(y-300) < 1e-6:
			high++
		default:
			other++ // a window across a change
		}
	}
	if low < 100 || high < 100 || other > 40 {
		t.Errorf("blinking: %d readings off, %d on, %d between", low, high, other)
	}
}

// A lamp that warms moves by 63 % of its way in a time constant; a gel moves it at once.
func TestLampsOfTheStageFileChange(t *testing.T) {
	slots := []byte{255, 0, 0, 0, 255, 0, 0, 0}
	cold := "heat: 0, "
	at := func(text string, after time.Duration) colorcalc.XYZ {
		h := still(t, small(t), "lamps:\n  - {fixture: wash, "+cold+text+"}\n")
		h.Levels(1, slots)
		h.Advance(after)
		return h.Truths()[0].XYZ
	}
	was := at("warming: {du: 0, dv: 0, time_s: 60}", minute).UV()
	warm := at("warming: {du: 0.003, dv: -0.001, time_s: 60}", minute).UV()
	near(t, "du", warm.U-was.U, 0.003*(1-math.Exp(-1)), 1e-6)
	near(t, "dv", warm.V-was.V, -0.001*(1-math.Exp(-1)), 1e-6)
	gel := "gel: {at_s: 30, factor: 1.4, du: 0.02}"
	before, after := at(gel, 29*time.Second), at(gel, 31*time.Second)
	near(t, "gel", after.UV().U-before.UV().U, 0.02, 1e-6)
	near(t, "level", after.Y/before.Y, 1.4, 1e-6)
}

// Spilt light has its own colour; the lamp's own probe sees it as it is. A probe that is turned
// to a fixture sees that one, and a probe's own error is in all it reads.
func TestProbesOfTheStageFile(t *testing.T) {
	read := func(text, probe string) Sample {
		r := small(t)
		r.Fixtures[0].Probe, r.Fixtures[1].Probe = "left", "right"
		h := still(t, r, "ambient: {lux: 0, kelvin: 4000}\nmeter: {sigma_uv: 0, sigma_level: 0, round_lux: 0, round_xy: 0}\n"+text)
		h.Levels(1, []byte{255, 0, 0, 0, 255, 0, 0, 0})
		var last Sample
		for _, s := range h.Advance(3 * time.Second) {
			if s.Probe == probe {
				last = s.Sample
			}
		}
		return last
	}
	own := read("spill: 0.05\nspill_colour: {du: 0.02}\n", "left")
	spilt := read("spill: 0.05\nspill_colour: {du: 0.02}\n", "right")
	near(t, "spilt level", spilt.Lux/own.Lux, 0.05, 1e-6)
	near(t, "spilt colour", spilt.XY.UV().U-own.XY.UV().U, 0.02, 1e-6)
	turned := read("probes: [{probe: right, turned_to: wash}]\n", "right")
	near(t, "turned", turned.Lux, own.Lux, 1e-6)
	off := read("probes: [{probe: left, du: 0.001, dv: -0.002}]\n", "left")
	near(t, "du", off.XY.UV().U-own.XY.UV().U, 0.001, 1e-6)
	near(t, "dv", off.XY.UV().V-own.XY.UV().V, -0.002, 1e-6)
}

// A hand over a probe takes most of its light for a fifth of a second.
func TestHandsComeAndGo(t *testing.T) {
	h := NewHands(10*time.Second, 3, "mark")
	covered := 0
	for ms := range 600_000 / 10 {
		if h.Through(white(100), time.Duration(ms)*10*time.Millisecond).Y < 50 {
			covered++
		}
	}
	// 600 s hold about 60 hands of 0.2 s, each between 3 and 17 s after the last.
	if s := float64(covered) / 100; s < 8 || s > 16 {
		t.Errorf("covered for %.1f s of 600, want about 12", s)
	}
}

// Noise that grows by its own size in an hour is twice as large after one.
func TestNoiseGrows(t *testing.T) {
	scatter := func(at time.Duration) float64 {
		m := NewMeter(MeterSpec{SigmaUV: 0.0005, Grow: 1}, 3, "mark")
		sum := 0.0
		for range 4000 {
			s, _ := m.Read(white(100), at)
			d := s.XY.UV().U - white(1).UV().U
			sum += d * d / 4000
		}
		return math.Sqrt(sum)
	}
	near(t, "at first", scatter(0), 0.0005, 0.00003)
	near(t, "after an hour", scatter(time.Hour), 0.0010, 0.00006)
}

// The schema and the reference stage file name the same keys, and the file can be read.
func TestReferenceStageFileHasEveryKey(t *testing.T) {
	text, err := os.ReadFile("../../examples/reference-stage.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := ParseFile("reference-stage.yaml", text); err != nil {
		t.Fatal(err)
	}
	schema, err := json.Marshal(Schema())
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range keysOf(t, schema) {
		if !containsKey(text, key) {
			t.Errorf("examples/reference-stage.yaml does not show the key %q", key)
		}
	}
}
