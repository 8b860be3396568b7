package report

import "testing"

// Little light is told by its digits, not as 0 lux, and much light without a power of ten.
func TestLuxIsToldByItsDigits(t *testing.T) {
	for lux, want := range map[float64]string{0.0421: "0.0421", 0.424: "0.424", 9.996: "10", 31.25: "31.2", 99.96: "100", 1234: "1234"} {
		if got := luxText(lux); got != want {
			t.Errorf("%v lux: %q, want %q", lux, got, want)
		}
	}
}
