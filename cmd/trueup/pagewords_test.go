package main

import (
	"context"
	"strings"
	"testing"

	"trueup/cmd/trueup/page"
)

// What a page is told of a wrong order is said once, and in no words of the command line, which nobody there has typed.
func TestAPageIsToldOfWrongOrdersInItsOwnWords(t *testing.T) {
	p := jobsOf(t, "{color: 5000 K, level: 25 %}")
	for _, c := range []struct {
		order page.Order
		want  string
	}{
		{page.Order{Work: "match", Color: "banana"}, "no colour is called"},
		{page.Order{Work: "match", Color: "500 K"}, "outside 1000 to 25000 K"},
		{page.Order{Work: "points", Points: "0x0"}, "a grid has 1 to"},
		{page.Order{Work: "points", Points: "a,a"}, "stands there twice"},
	} {
		_, err := p.prepare(context.Background(), c.order)
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "--") || strings.Count(err.Error(), "colour \"") > 1 {
			t.Errorf("%+v: %v, want %q, once, without a flag", c.order, err, c.want)
		}
	}
}
