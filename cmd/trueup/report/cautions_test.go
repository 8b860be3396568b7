package report

import (
	"strings"
	"testing"

	"trueup/safety"
)

// The cautions are a list in which no word is lost.
func TestCautionsAreAListAndWhole(t *testing.T) {
	var words []string
	items := 0
	for _, p := range cautionParts(safety.Cautions) {
		words = append(words, strings.Fields(p.Text)...)
		for _, i := range p.Items {
			items++
			words = append(append(words, "-"), strings.Fields(i)...)
		}
	}
	if got, want := strings.Join(words, " "), strings.Join(strings.Fields(safety.Cautions), " "); got != want || items < 5 {
		t.Errorf("%d items:\n%s\nwant\n%s", items, got, want)
	}
}
