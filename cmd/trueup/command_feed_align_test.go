package main

import (
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/feed"
)

// A round is over when every probe has its readings, those that must speak and
// those that happened to; the mean is over so many and no more.
func TestARoundWaitsForEveryProbe(t *testing.T) {
	read := func(probe string, y float64) feed.Reading {
		return feed.Reading{Probe: probe, UV: colorcalc.UV{U: 0.2, V: 0.47}, Y: y, HasY: true}
	}
	r := &round{begin: time.Now(), named: []string{"a", "b"}, n: 2, means: map[string]probeMean{}}
	for i, x := range []feed.Reading{read("a", 100), read("a", 300), read("a", 9000), read("c", 1), read("b", 10), read("b", 20)} {
		if r.take(x) {
			t.Fatalf("over after %d readings", i+1)
		}
	}
	if _, err := r.result(nil); err == nil || !strings.Contains(err.Error(), `"c" gave 1 of 2`) {
		t.Errorf("%v", err)
	}
	r = &round{begin: time.Now(), named: []string{"a", "b"}, n: 2, means: map[string]probeMean{}}
	for _, x := range []feed.Reading{read("a", 100), read("b", 10), read("a", 300)} {
		if r.take(x) {
			t.Fatal("over too early")
		}
	}
	if !r.take(read("b", 20)) {
		t.Error("not over with two readings of each")
	}
	means, err := r.result(nil)
	if err != nil || means["a"].xyz.Y != 200 || means["b"].xyz.Y != 15 || !means["a"].hasY {
		t.Errorf("%+v, %v", means, err)
	}
	r = &round{begin: time.Now(), named: []string{"d"}, n: 2, means: map[string]probeMean{}}
	if _, err := r.result(nil); err == nil || !strings.Contains(err.Error(), `"d" does not speak`) {
		t.Errorf("%v", err)
	}
}
