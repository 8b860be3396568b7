package profiles

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trueup/profiles/law"
)

// What a person answers comes back when the draft is read.
func TestADraftReadsBackAsAnswered(t *testing.T) {
	text := Draft(Answers{
		Name: "Wash: 14 #2", Maker: "yes", Mode: "12", Kind: Emitters, Footprint: 9, Dimmer: []int{1, 2}, Curve: "square",
		Emitters: []AnswerParam{{"red", []int{3}, 0}, {"green", []int{4}, 0}, {"warm white", []int{5, 6}, 0}},
		Shutter:  7, Open: 255, Set: []AnswerParam{{"macro", []int{8}, 4}}, Never: []AnswerParam{{"reset", []int{9}, 0}},
	})
	p, err := Parse("f", []byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	m := p.Modes[0]
	if p.Name != "Wash: 14 #2" || p.Maker != "yes" || m.Name != "12" || m.Footprint != 9 || len(m.Emitters) != 3 || m.Emitters[2].Max != 65535 ||
		m.Emitters[0].Curve.Law != law.Square || len(m.Pins) != 2 || m.Pins[0].Level != 4 || m.Never[0].Slots[0] != 9 || m.Unnamed() != nil {
		t.Errorf("%+v\n%s", p, text)
	}
	duv := [2]float64{0.01, -0.01}
	for _, a := range []Answers{
		{Name: "A", Mode: "m", Kind: CCT, Footprint: 3, CCT: []int{1}, Kelvin: [2]float64{6500, 2700}, Mired: true, Tint: []int{2}, TintDuv: &duv},
		{Name: "A", Mode: "m", Kind: CCT, Footprint: 3, CCT: []int{1}, Kelvin: [2]float64{2700, 6500}, Tint: []int{2, 3}, TintToward: "magenta"},
		{Name: "A", Mode: "m", Kind: XY, Footprint: 4, X: []int{1, 2}, Y: []int{3, 4}},
		{Name: "A", Mode: "m", Kind: HueSat, Footprint: 4, Hue: []int{1, 2}, Sat: []int{3}},
		{Name: "A", Mode: "on", Kind: Fixed, White: 4300},
		{Name: "A", Mode: "m", Kind: CCT, TintToward: "green", Knobs: map[string]law.Knob{"dimmer": {Label: "INT", Unit: "%", From: 0, To: 100, Step: 1},
			"cct": {Label: "CCT", Unit: "K", From: 2700, To: 6500, Step: 50}, "tint": {Label: "G/M", Unit: "", From: -10, To: 10, Step: 1}}},
		{Name: "A", Mode: "m", Kind: Emitters, Emitters: []AnswerParam{{Name: "red"}, {Name: "green"}, {Name: "blue"}},
			Knobs: map[string]law.Knob{"red": {Label: "R", Unit: "", From: 0, To: 255, Step: 1}, "green": {Label: "G", Unit: "", From: 0, To: 255, Step: 1}, "blue": {Label: "B", Unit: "", From: 0, To: 255, Step: 1}}},
	} {
		if p, err := Parse("f", []byte(Draft(a))); err != nil || p.Modes[0].Kind != a.Kind {
			t.Errorf("%s: %v\n%s", a.Kind, err, Draft(a))
		}
	}
}

// Any name a person may type is kept, whatever YAML would make of it.
func TestNamesSurviveYAML(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := strings.TrimSpace(rapid.StringMatching(`[ -~äé€]{1,20}`).Draw(t, "name"))
		if name == "" {
			return
		}
		p, err := Parse("f", []byte(Draft(Answers{Name: name, Mode: name, Kind: Fixed})))
		if err != nil {
			t.Fatalf("%q: %v", name, err)
		}
		if p.Name != name || p.Modes[0].Name != name {
			t.Fatalf("%q came back as %q and %q", name, p.Name, p.Modes[0].Name)
		}
	})
}
