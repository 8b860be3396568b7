package gdtf

import (
	"math"
	"slices"
	"testing"
)

// Values are brought to a channel's width as DIN SPEC 15800 writes it: mirrored
// by default, shifted with an s, cut to the high bytes. Expectations are the
// standard's own examples and hand-worked ones.
func TestDMXValuesToOtherWidths(t *testing.T) {
	for _, c := range []struct {
		text  string
		width int
		want  uint32
	}{
		{"255/1", 2, 0xFFFF}, // mirrored: full is full
		{"255/1s", 2, 0xFF00},
		{"128/1", 2, 0x8080},
		{"128/1s", 2, 0x8000},
		{"32768/2", 2, 0x8000},
		{"32768/2", 1, 0x80}, // the high byte is kept
		{"0/2", 1, 0},
		{"258/2", 3, 0x010201}, // two bytes mirrored into three
		{"1/1", 3, 0x010101},
		{"16777215/3", 1, 255},
		{"77", 1, 77}, // no byte count: one byte
	} {
		got, ok, err := parseDMXValue(c.text, c.width)
		if err != nil || !ok || got != c.want {
			t.Errorf("%s in %d bytes: %#x %v %v, want %#x", c.text, c.width, got, ok, err, c.want)
		}
	}
	for _, none := range []string{"", "None", " None "} {
		if _, ok, err := parseDMXValue(none, 1); ok || err != nil {
			t.Errorf("%q: %v %v, want no value and no error", none, ok, err)
		}
	}
	for _, bad := range []string{"256/1", "-1/1", "1/0", "1/9", "1/x", "x/1", "1.5/1", "65536/2", "1/1/1", "1//1", "99999999999999/4"} {
		if v, ok, err := parseDMXValue(bad, 2); err == nil {
			t.Errorf("%q was read as %d (%v)", bad, v, ok)
		}
	}
}

func TestOffsets(t *testing.T) {
	for text, want := range map[string][]int{"5": {5}, "5,6": {5, 6}, "5,17": {5, 17}, "5, 6, 7": {5, 6, 7}, "": nil, "None": nil} {
		got, err := parseOffset(text)
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%q: %v %v, want %v", text, got, err, want)
		}
	}
	for _, bad := range []string{"0", "513", "5,", "1,2,3,4", "x", "-5", "5;6"} {
		if got, err := parseOffset(bad); err == nil {
			t.Errorf("%q was read as %v", bad, got)
		}
	}
}

func TestColoursWithADecimalComma(t *testing.T) {
	xy, y, err := parseColor("0.3002,0.5998,71,55") // as such files exist
	if err != nil || xy.X != 0.3002 || xy.Y != 0.5998 || math.Abs(y-71.55) > 1e-12 {
		t.Errorf("%v %v %v", xy, y, err)
	}
	xy, y, err = parseColor("0.6400, 0.3300, 21.0")
	if err != nil || xy.X != 0.64 || xy.Y != 0.33 || y != 21 {
		t.Errorf("%v %v %v", xy, y, err)
	}
	for _, bad := range []string{"", "0.3,0.3", "0.3,0.3,1,2,3", "NaN,0.3,1", "0.3,Inf,1", "0.9,0.9,1", "0.3,0,1", "0.3,0.3,-1", "-0.1,0.3,1"} {
		if xy, _, err := parseColor(bad); err == nil {
			t.Errorf("%q was read as %v", bad, xy)
		}
	}
}
