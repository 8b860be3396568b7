package stage

import (
	"encoding/json"
	"math"
	"regexp"
	"testing"
	"time"
)

// keysOf lists the property names of a schema, at any depth.
func keysOf(t *testing.T, schema []byte) (keys []string) {
	t.Helper()
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case map[string]any:
			if p, ok := v["properties"].(map[string]any); ok {
				for k := range p {
					keys = append(keys, k)
				}
			}
			for _, w := range v {
				walk(w)
			}
		case []any:
			for _, w := range v {
				walk(w)
			}
		}
	}
	var v any
	if err := json.Unmarshal(schema, &v); err != nil {
		t.Fatal(err)
	}
	if walk(v); len(keys) < 60 {
		t.Fatalf("only %d keys in the schema: the walk is broken", len(keys))
	}
	return keys
}

func containsKey(text []byte, key string) bool {
	return regexp.MustCompile(`(?m)(^|[\s{,-])` + regexp.QuoteMeta(key) + `:`).Match(text)
}

// odd is a wash without heat or fade, and with quirks.
func odd(q Quirks) *Plant {
	k := rgbw(Linear)
	k.Heat, k.Quirks = Heat{}, q
	return NewPlant(Draw(k, Scatter{}, Scatter{}, 3, "one"), driven(4, 255))
}

// A dead emitter gives nothing, a weak one its share; the others give what they gave.
func TestDeadAndWeakEmitters(t *testing.T) {
	sound, weak := odd(Quirks{}), odd(Quirks{Gain: []float64{0, 0.5, 1, 1}})
	for i, want := range []float64{0, 0.5, 1, 1} {
		codes := make([]uint32, 4)
		codes[i] = 200
		near(t, "gain", weak.Would(codes).Y/sound.Would(codes).Y, want, 1e-12)
	}
}

// At the lowest codes the light going up is less than coming down, and above them the
// same; a lamp that was dark comes from below.
func TestLowestCodesHavePlay(t *testing.T) {
	at := func(p *Plant, code uint32) float64 {
		p.Set([]uint32{0, 0, 0, code})
		p.Advance(time.Second)
		return p.Light().Y
	}
	up, down := odd(Quirks{Play: 0.01}), odd(Quirks{Play: 0.01})
	at(up, 5)
	at(down, 25)
	if a, b := at(up, 15), at(down, 15); !(a < 0.95*b) {
		t.Errorf("code 15: %g going up, %g coming down", a, b)
	}
	near(t, "code 200", at(up, 200), at(down, 200), 1e-12)
	if p := odd(Quirks{}); math.Abs(at(p, 15)-at(odd(Quirks{}), 15)) > 0 {
		t.Error("a lamp without play has some")
	}
}

// The curve of a lamp with waves lies by up to so much beside its law, on both sides.
func TestCurvesHaveWaves(t *testing.T) {
	sound, wavy := odd(Quirks{}), odd(Quirks{Wave: 0.01})
	least, most := 0.0, 0.0
	for code := uint32(10); code < 256; code++ {
		d := math.Log(wavy.Would([]uint32{0, 0, 0, code}).Y / sound.Would([]uint32{0, 0, 0, code}).Y)
		least, most = min(least, d), max(most, d)
	}
	if least > -0.005 || most < 0.005 || least < -0.0101 || most > 0.0101 {
		t.Errorf("beside its law by %+.4f to %+.4f, want about 0.01 both ways", least, most)
	}
}

// Over whole periods the pulses are their mean; over a window that is none they are
// off by up to one pulse, another way at another time.
func TestPulsesBeatWithTheWindow(t *testing.T) {
	p := odd(Quirks{PWM: 200})
	p.Set([]uint32{0, 0, 0, 77})
	p.Advance(time.Second)
	mean := p.Light().Y
	near(t, "20 periods", p.Over(0, 100*time.Millisecond).Y/mean, 1, 1e-9)
	least, most := math.Inf(1), 0.0
	for k := range 50 {
		from := time.Duration(k) * 137 * time.Microsecond
		y := p.Over(from, from+12*time.Millisecond).Y / mean // 2.4 periods
		least, most = min(least, y), max(most, y)
	}
	if least > 0.97 || most < 1.03 {
		t.Errorf("2.4 periods: %.3f to %.3f of the mean", least, most)
	}
}

// Some seconds after a large move the white shifts by itself, after a small one it does
// not; Settled knows of it before.
func TestLampCalibratesItself(t *testing.T) {
	p := odd(Quirks{Calibrates: 0.05, CalibratesAfter: 4 * time.Second})
	p.Set([]uint32{200, 200, 200, 200})
	p.Advance(3 * time.Second)
	before, coming := p.Light().UV(), p.Settled().UV()
	p.Advance(2 * time.Second)
	after := p.Light().UV()
	if d := after.Dist(before); d < 0.001 {
		t.Errorf("moved by %.4f, want it to be seen", d)
	}
	near(t, "as foretold", after.Dist(coming), 0, 1e-12)
	p.Set([]uint32{200, 200, 200, 190})
	p.Advance(time.Second)
	small := p.Light().UV()
	p.Advance(10 * time.Second)
	near(t, "after a small move", p.Light().UV().Dist(small), 0, 1e-12)
}

// Tint and scale can be stated the wrong way round: the light then goes the other way.
func TestWrongTintAndScale(t *testing.T) {
	light := func(text string, cct, tint byte) (k, d float64) {
		slots := make([]byte, 105)
		slots[100], slots[101], slots[103] = 255, cct, tint
		c := lit(still(t, small(t), "lamps:\n  - {profile: Test Panel, spread: 0, kind_spread: 0"+text+"}\n"), 2, slots, 1)
		uv := c.UV()
		return uv.U, uv.V
	}
	_, green := light("", 128, 40)
	_, magenta := light(", engine: {tint_from: -0.015, tint_to: 0.015}", 128, 40)
	if !(green > magenta+0.005) {
		t.Errorf("v' %.4f as the profile has it, %.4f with the sign turned", green, magenta)
	}
	warm, _ := light("", 128, 128)
	cold, _ := light(", engine: {mired_steps: false}", 128, 128)
	if !(warm > cold+0.01) { // the middle of 10000 and 2000 K is 3333 K by mired and 6000 K by kelvin
		t.Errorf("u' %.4f by mired, %.4f by kelvin", warm, cold)
	}
}
