package instrument

import (
	"math"
	"testing"
)

// What is far from a possible or likely colour is questioned or refused.
func TestTypedValuesAreChecked(t *testing.T) {
	for _, bad := range []string{"0.9 0.9", "0 0", "NaN 0.3", "500", "4310 0.2", "x", "0.3412"} {
		if d, words, err := ReadTyped(bad); err == nil {
			t.Errorf("%q was read as %s (%+v)", bad, words, d.UV)
		}
	}
	for _, c := range []struct {
		text    string
		x, y, Y float64
	}{
		{"0.3412 0.3553", 0.3412, 0.3553, 0}, {"0,3412 0,3553", 0.3412, 0.3553, 0}, {"0.3412; 0.3553; 812", 0.3412, 0.3553, 812},
		{"0.3412 0.3553 1.2 klx", 0.3412, 0.3553, 1200}, {"0.3412 0.3553 812lx", 0.3412, 0.3553, 812}, {"xy 0.3412 0.3553", 0.3412, 0.3553, 0},
		// 5000 K on the Planckian locus is x 0.3451 y 0.3516 (CIE 15).
		{"5000 0", 0.3451, 0.3516, 0}, {"5000", 0.3451, 0.3516, 0}, {"5000K", 0.3451, 0.3516, 0}, {"5000 0.000 95 lx", 0.3451, 0.3516, 95},
	} {
		d, _, err := ReadTyped(c.text)
		xy := d.UV.XY()
		if err != nil || math.Abs(xy.X-c.x) > 6e-5 || math.Abs(xy.Y-c.y) > 6e-5 || math.Abs(d.Y-c.Y) > 1e-9 {
			t.Errorf("%q: %v level %v, %v", c.text, xy, d.Y, err)
		}
	}
}

// FuzzTyped: whatever is typed is refused or is a colour with a rounding.
func FuzzTyped(f *testing.F) {
	for _, s := range []string{"4310 -0.002", "0.3412 0.3553", "5600K", "D65", "u' 0.2 v' 0.48", "3200 K +0.0010 120 lx"} {
		f.Add(s) // what people type
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, words, err := ReadTyped(s)
		if err == nil && d.Flags&(Underrange|NotWhite) == 0 && (!OnDiagram(d.UV) || !finite(d.RoundXY) || d.RoundXY < 0 || words == "") {
			t.Fatalf("%q became %+v", s, d)
		}
	})
}
