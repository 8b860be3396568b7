package core

import (
	"slices"
	"testing"
	"time"
)

// However long people walk by in a lit room, only the shades that still count are kept.
func TestShadesThatCountNoMoreAreForgotten(t *testing.T) {
	var d dark
	for n := range 10000 {
		d.shadePassed(time.Duration(n) * 7 * time.Second)
	}
	var want []time.Duration
	for n := 9999; time.Duration(9999-n)*7*time.Second <= shadesIn; n-- {
		want = append([]time.Duration{time.Duration(n) * 7 * time.Second}, want...)
	}
	if !slices.Equal(d.shades, want) {
		t.Errorf("after a day %d shades are kept: %v, want %v", len(d.shades), d.shades, want)
	}
}
