package profiles

import (
	"bytes"
	"math"
	"testing"

	"pgregory.net/rapid"

	"trueup/colorcalc"
)

// allModes gives every mode of every example.
func allModes(t testing.TB) (modes []*Mode) {
	t.Helper()
	for _, path := range examplePaths(t) {
		p, err := Load(path)
		if err != nil {
			t.Fatal(err)
		}
		for i := range p.Modes {
			modes = append(modes, &p.Modes[i])
		}
	}
	if len(modes) < 25 {
		t.Fatalf("only %d modes", len(modes))
	}
	return modes
}

// Codes come back from the slots exactly, for every mode, head and bit depth,
// and nothing else in the footprint is touched.
func TestCodesToSlotsAndBackAreExact(t *testing.T) {
	modes := allModes(t)
	rapid.Check(t, func(t *rapid.T) {
		m := modes[rapid.IntRange(0, len(modes)-1).Draw(t, "mode")]
		if m.Footprint == 0 {
			return
		}
		head := rapid.IntRange(0, m.Heads.Count-1).Draw(t, "head")
		fill := rapid.Byte().Draw(t, "fill")
		slots := bytes.Repeat([]byte{fill}, m.Footprint)
		codes := make([]uint32, len(m.Params()))
		touched := map[int]bool{}
		for i, p := range m.Params() {
			codes[i] = rapid.Uint32Range(p.Lo, p.Hi).Draw(t, p.Name)
			for _, s := range m.HeadSlots(p, head) {
				touched[s] = true
			}
		}
		if err := m.Encode(head, codes, slots); err != nil {
			t.Fatal(err)
		}
		back, err := m.Decode(head, slots)
		if err != nil {
			t.Fatal(err)
		}
		for i := range codes {
			if back[i] != codes[i] {
				t.Fatalf("%s head %d %s: %d went out, %d came back", m.Name, head, m.Params()[i].Name, codes[i], back[i])
			}
		}
		for i, v := range slots {
			if !touched[i+1] && v != fill {
				t.Fatalf("%s: slot %d was touched", m.Name, i+1)
			}
		}
	})
}

// Values come back from their codes within half a step of the fixture's own
// scale: kelvin or mired, Duv, x and y, hue and saturation, levels.
func TestParametersToCodesAndBackWithinHalfAStep(t *testing.T) {
	modes := allModes(t)
	rapid.Check(t, func(t *rapid.T) {
		m := modes[rapid.IntRange(0, len(modes)-1).Draw(t, "mode")]
		f := rapid.Float64Range(0, 1).Draw(t, "fraction")
		near := func(what string, got, want, span float64, p *Param) {
			half := math.Abs(span) / float64(p.Hi-p.Lo) / 2
			if !(math.Abs(got-want) <= half*(1+1e-6)+1e-12) {
				t.Fatalf("%s %s: %g came back as %g, more than half a step (%g) off", m.Name, what, want, got, half)
			}
		}
		for _, p := range m.Params() {
			near(p.Name, p.Fraction(p.Code(f)), f, 1, p)
		}
		if c := m.CCT; c != nil && len(c.Steps) == 0 {
			if c.Mired {
				a, z := float64(c.From.Mired()), float64(c.To.Mired())
				want := a + f*(z-a)
				near("cct", float64(c.Law().At(c.Law().CodeOf(colorcalc.Mired(want).Kelvin())).Mired()), want, z-a, &c.Param)
			} else {
				want := float64(c.From) + f*float64(c.To-c.From)
				near("cct", float64(c.Law().At(c.Law().CodeOf(colorcalc.Kelvin(want)))), want, float64(c.To-c.From), &c.Param)
			}
		}
		if s := m.Tint; s != nil {
			want := float64(s.From) + f*float64(s.To-s.From)
			near("tint", float64(s.Law().At(s.Law().CodeOf(colorcalc.Duv(want)))), want, float64(s.To-s.From), &s.Param)
		}
		for _, s := range []*ScaleParam{m.X, m.Y, m.Hue, m.Sat} {
			if s != nil {
				want := s.From + f*(s.To-s.From)
				near(s.Name, s.Line().At(s.Line().CodeOf(want)), want, s.To-s.From, &s.Param)
			}
		}
	})
}

// A scale in steps gives back the very step, from its middle and both ends.
func TestStepsOfColourTemperature(t *testing.T) {
	p, err := Load("../examples/profiles/wexelow-steps.yaml")
	if err != nil {
		t.Fatal(err)
	}
	c := p.Modes[0].CCT
	for level, want := range map[uint32]colorcalc.Kelvin{0: 2700, 41: 2700, 42: 3200, 125: 4000, 126: 4500, 209: 5600, 210: 6500, 255: 6500} {
		if got := c.Law().At(level); got != want {
			t.Errorf("level %d is %g K, the manual says %g", level, got, want)
		}
	}
	for _, s := range c.Steps {
		if code := c.Law().CodeOf(s.Kelvin + 90); code < s.Lo || code > s.Hi {
			t.Errorf("%g K goes to level %d, outside of %d..%d", s.Kelvin+90, code, s.Lo, s.Hi)
		}
	}
}

// The numbers of a manual, worked by hand: coarse first, heads in strides.
func TestSlotsAsAManualListsThem(t *testing.T) {
	p, err := Load("../examples/profiles/farnwibble-wash-16.yaml")
	if err != nil {
		t.Fatal(err)
	}
	m, slots := &p.Modes[0], make([]byte, 14)
	if err := m.Rest(slots); err != nil {
		t.Fatal(err)
	}
	if err := m.Encode(0, []uint32{0x0102, 0x0304, 0x0506, 0x0708, 0xFFFE}, slots); err != nil {
		t.Fatal(err)
	}
	if want := []byte{0xFF, 0xFE, 255, 1, 2, 3, 4, 5, 6, 7, 8, 0, 0, 0}; !bytes.Equal(slots, want) {
		t.Errorf("slots %v, want %v", slots, want)
	}
	bar, err := Load("../examples/profiles/stannelow-pixel-bar.yaml")
	if err != nil {
		t.Fatal(err)
	}
	m, slots = &bar.Modes[0], make([]byte, 34)
	if err := m.Encode(7, []uint32{11, 12, 13, 14, 99}, slots); err != nil {
		t.Fatal(err)
	}
	if slots[0] != 99 || !bytes.Equal(slots[30:], []byte{11, 12, 13, 14}) {
		t.Errorf("head 8 of the bar: %v", slots)
	}
	for _, bad := range []func() error{
		func() error { return m.Encode(8, make([]uint32, 5), slots) },
		func() error { return m.Encode(-1, make([]uint32, 5), slots) },
		func() error { return m.Encode(0, make([]uint32, 4), slots) },
		func() error { return m.Encode(0, []uint32{256, 0, 0, 0, 0}, slots) },
		func() error { return m.Encode(0, make([]uint32, 5), slots[:33]) },
		func() error { _, err := m.Decode(0, nil); return err },
	} {
		if bad() == nil {
			t.Error("a wrong call was not refused")
		}
	}
}

func TestKnobsSayWhatToDial(t *testing.T) {
	p, err := Load("../examples/profiles/rushwimble-knob-panel.yaml")
	if err != nil {
		t.Fatal(err)
	}
	m, err := p.Mode("knobs")
	if err != nil {
		t.Fatal(err)
	}
	if m.CCT.Max != 96 || m.CCT.Dial(m.CCT.Law().CodeOf(4310)) != "CCT 4300 K" || *m.CCT.Start != 58 {
		t.Errorf("kelvin knob: %d steps, %q, start %d", m.CCT.Max, m.CCT.Dial(m.CCT.Law().CodeOf(4310)), *m.CCT.Start)
	}
	if got := m.Tint.Dial(0); got != "G/M -50" {
		t.Errorf("tint knob: %q", got)
	}
	menu, err := p.Mode("colour menu")
	if err != nil {
		t.Fatal(err)
	}
	if got := menu.Emitters[3].Dial(1); got != "W 0.5 %" {
		t.Errorf("white knob: %q", got)
	}
}
