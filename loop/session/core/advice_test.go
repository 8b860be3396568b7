package core

import (
	"strings"
	"testing"

	"trueup/colorcalc"
)

// A filter is advised where it would have to shift the light by more than the tolerance, and not for less: no filter is
// cut so fine.
func TestAFilterIsAdvisedForMoreThanTheTolerance(t *testing.T) {
	const tolerance = 0.001
	xy, err := colorcalc.White(4300, 0)
	if err != nil {
		t.Fatal(err)
	}
	target := xy.UV()
	if words := advice(target, colorcalc.UV{U: target.U + 0.0009, V: target.V}, tolerance); words != "" {
		t.Errorf("0.0009 off: %q", words)
	}
	if words := advice(target, colorcalc.UV{U: target.U + 0.004, V: target.V}, tolerance); !strings.Contains(words, "a filter that shifts by") {
		t.Errorf("0.0040 off: %q", words)
	}
}
