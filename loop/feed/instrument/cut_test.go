package instrument

import (
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
)

func decodeWith(t *testing.T, description, line string) ([]Draft, []Aside) {
	t.Helper()
	var ins *Instrument
	if description != "" {
		var err error
		if ins, err = Parse("meter.yaml", []byte(description)); err != nil {
			t.Fatal(err)
		}
	}
	return NewDecoder(ins, &Precision{}).Decode(Message{Data: []byte(line)}, time.Unix(1e9, 0))
}

// A line that was cut short is no reading, wherever the cut lies: without its
// level no background would be taken off, without its tint the colour is
// another.
func TestACutLineIsNoReading(t *testing.T) {
	for _, c := range []struct{ description, line string }{
		{"instrument: a\nread: {as: csv}\nfields: {x: 1, y: 2, cct: 3, duv: 4, level: 5, time: {from: 6, unit: unix s}, integration: 7, seq: 8, probe: 9, serial: 10, saturated: {from: 11, when: [OVER]}}\n",
			"0.3127,0.3290,6504,0.0032,120.5,1000000000,0.2,17,mark,123,-"},
		{"instrument: a\nread: {as: columns}\nfields: {x: 1-6, y: 8-13, level: 15-19}\n", "0.3127 0.3290 120.5"},
		{"instrument: a\nread: {as: csv, separator: SPACE}\nfields: {cct: 1, duv: 2}\n", "6504 0.0032"},
	} {
		if got, aside := decodeWith(t, c.description, c.line); len(got) != 1 {
			t.Fatalf("%q: %v", c.line, aside)
		}
		// Within the last value a cut can not be seen; a checksum is for that.
		for end := strings.LastIndexAny(c.line, ", "); end > 0; end-- {
			got, aside := decodeWith(t, c.description, c.line[:end])
			if len(got) != 0 || len(aside) != 1 || aside[0].Reason != Unreadable {
				t.Errorf("%q became %+v, %v", c.line[:end], got, aside)
			}
		}
	}
	_, aside := decodeWith(t, "instrument: a\nread: {as: csv}\nfields: {x: 1, y: 2, level: 3}\n", "0.3127,0.3290")
	if len(aside) != 1 || !strings.Contains(aside[0].Words, "level is missing") || !strings.Contains(aside[0].Words, "optional: true") {
		t.Errorf("%v does not say what to do", aside)
	}
}

// What an instrument may leave out is said in its description.
func TestAnOptionalFieldMayBeMissing(t *testing.T) {
	const d = "instrument: a\nread: {as: json}\nfields: {x: x, y: y, level: {from: lux, optional: true}, probe: {from: p, optional: true}}\n"
	for _, line := range []string{`{"x":0.31,"y":0.33}`, `{"x":0.31,"y":0.33,"lux":12,"p":"a"}`} {
		if got, aside := decodeWith(t, d, line); len(got) != 1 || got[0].HasY != strings.Contains(line, "lux") {
			t.Errorf("%s: %+v, %v", line, got, aside)
		}
	}
	if got, _ := decodeWith(t, d, `{"x":0.31}`); len(got) != 0 {
		t.Errorf("without y: %+v", got)
	}
}

// A reading too dark may lack its colour and its level, nothing else.
func TestTooDarkMayLackItsColour(t *testing.T) {
	const d = "instrument: a\nread: {as: json}\nfields: {x: x, y: y, level: lux, seq: n, underrange: {from: s, when: [LOW]}}\n"
	if got, aside := decodeWith(t, d, `{"s":"LOW","n":3}`); len(got) != 1 || !got[0].Flags.Has(Underrange) {
		t.Errorf("%+v, %v", got, aside)
	}
	if got, _ := decodeWith(t, d, `{"s":"LOW"}`); len(got) != 0 {
		t.Errorf("without its number: %+v", got)
	}
}

// Names in our own lines count as they are written: Y is a level, and never the
// y of the chromaticity.
func TestOurOwnLinesKeepCapitals(t *testing.T) {
	got, aside := decodeWith(t, "", `{"x":0.3127,"y":0.3290,"Y":120.5}`)
	if len(got) != 1 {
		t.Fatal(aside)
	}
	if xy := got[0].UV.XY(); !(xy.Y > 0.3289 && xy.Y < 0.3291) || !got[0].HasY || got[0].Y != 120.5 {
		t.Errorf("x, y %v level %v", xy, got[0].Y)
	}
	for line, says := range map[string]string{
		`{"X":0.3127,"y":0.3290}`:                   `did you mean "x"?`,
		`{"x":0.3127,"y":0.3290,"Lux":5}`:           `did you mean "lux"?`,
		`{"x":0.3127,"y":0.3290,"Y":5,"lux":5}`:     `"lux" after "Y": which of them counts?`,
		`{"x":0.3127,"y":0.3290,"x":0.4}`:           `"x" after "x"`,
		`{"x":0.3127,"y":0.3290} {"x":0.4,"y":0.4}`: "behind it",
		`{"x":0.3127,"y":0.3290`:                    "",
		`[0.3127,0.3290]`:                           "begin with {",
		`{"x":"0.3127","y":0.3290}`:                 "x: ",
	} {
		got, aside := decodeWith(t, "", line)
		if len(got) != 0 || len(aside) != 1 || !strings.Contains(aside[0].Words, says) {
			t.Errorf("%s became %+v, %v; want %q", line, got, aside, says)
		}
	}
	if got, _ := decodeWith(t, "", `{"x":0.3127,"y":0.3290,"battery":{"volt":[3,4]}}`); len(got) != 1 {
		t.Error("what we do not know is not passed over")
	}
}

// A meter that tells colour temperature and Duv alone can not tell a saturated light: that is said, for the light is a possible colour.
func TestAColourThatIsNoWhiteIsNamed(t *testing.T) {
	const d = "instrument: a\nread: {as: csv, separator: SPACE}\nfields: {cct: 1, duv: 2}\n"
	for line, want := range map[string]Reason{"4300 -0.0612": NoWhite, "31000 0.0100": NoWhite, "4300 0.0200": ""} {
		got, aside := decodeWith(t, d, line)
		if want == "" {
			if len(got) != 1 {
				t.Errorf("%q: %v", line, aside)
			}
			continue
		}
		if len(got) != 1 || got[0].Flags&^NoDuv != NotWhite || got[0].UV != (colorcalc.UV{}) || len(aside) != 1 || aside[0].Reason != want {
			t.Errorf("%q: %+v, %v, want %q, and that it has none", line, got, aside, want)
		}
	}
}

// A display that repeats itself tells a colour that is no white once, as it does any other; and no light at all is dark, and of no colour.
func TestNoWhiteIsFreshAndLit(t *testing.T) {
	const d = "instrument: a\nread: {as: csv, separator: SPACE}\nnew: change\nfields: {cct: 1, duv: 2, level: 3}\n"
	ins, err := Parse("meter.yaml", []byte(d))
	if err != nil {
		t.Fatal(err)
	}
	dec := NewDecoder(ins, new(Precision))
	for _, c := range []struct {
		line string
		want Flags
		why  Reason
	}{{"4300 -0.0612 90", NotWhite, NoWhite}, {"4300 -0.0612 90", 0, Repeated}, {"4300 -0.0613 90", NotWhite, NoWhite}, {"0 0 0", Underrange, ""}} {
		got, aside := dec.Decode(Message{Data: []byte(c.line)}, time.Now())
		if c.want != 0 && (len(got) != 1 || got[0].Flags != c.want) || c.want == 0 && len(got) != 0 || (len(aside) != 0) != (c.why != "") || c.why != "" && aside[0].Reason != c.why {
			t.Errorf("%q: %+v, %v", c.line, got, aside)
		}
	}
}
