package colorcalc

import "testing"

// A tint that rounds to nothing has no minus, and a temperature no exponent within reason.
func TestTintsAndTemperaturesAreWrittenAsPeopleReadThem(t *testing.T) {
	for d, want := range map[Duv]string{-0.00001: "+0.0000", 0: "+0.0000", -0.0012: "-0.0012", 0.00349: "+0.0035"} {
		if got := d.Text(); got != want {
			t.Errorf("%g: %s, want %s", float64(d), got, want)
		}
	}
	for k, want := range map[Kelvin]string{5600: "5600 K", 5.6e7: "56000000 K", 1e300: "1e+300 K"} {
		if got := k.Text(); got != want {
			t.Errorf("%g: %s, want %s", float64(k), got, want)
		}
	}
}
