package rig

import (
	"strings"
	"testing"
	"time"
)

// A quantity is read with its unit or not at all.
func TestQuantities(t *testing.T) {
	for text, want := range map[string]float64{"60 %": 0.6, "60%": 0.6, "100 %": 1, "0.5 %": 0.005} {
		if got, err := fraction(text); err != nil || got != want {
			t.Errorf("%s: %v %v, want %v", text, got, err, want)
		}
	}
	for text, gist := range map[string]string{
		"60": "write 60 % if", "0 %": "above 0 %", "-5 %": "above 0 %", "101 %": "up to 100 %", "60 s": "not a percentage",
		"0,5 %": "write 0.5:", "%": "begin with a number", "NaN %": "begin with a number", "1e2 %": "unit", "--5 %": "begin with", "+5 %": "begin with", "": "begin with",
	} {
		if v, err := fraction(text); err == nil || !strings.Contains(err.Error(), gist) {
			t.Errorf("%q: %v, error %v, want %q in it", text, v, err, gist)
		}
	}
	for text, want := range map[string]float64{"50 %/s": 0.5, "50%/s": 0.5, "400 %/s": 4} {
		if got, err := rate(text); err != nil || got != want {
			t.Errorf("%s: %v %v, want %v", text, got, err, want)
		}
	}
	for text, gist := range map[string]string{"50": "write 50 %/s", "50 %": "write 50 %/s", "50 %/min": "want %/s", "0 %/s": "above 0", "401 %/s": "up to 400"} {
		if v, err := rate(text); err == nil || !strings.Contains(err.Error(), gist) {
			t.Errorf("%q: %v, error %v, want %q in it", text, v, err, gist)
		}
	}
	for text, want := range map[string]time.Duration{"200 ms": 200 * time.Millisecond, "1.5 s": 1500 * time.Millisecond, "2 min": 2 * time.Minute, "1h": time.Hour} {
		if got, err := duration(text, 0, 2*time.Hour); err != nil || got != want {
			t.Errorf("%s: %v %v, want %v", text, got, err, want)
		}
	}
	for text, gist := range map[string]string{"200": "ms, s, min or h", "200 sec": "not a time", "3 h": "not within", "-1 s": "not within", "99999999999999 h": "not within"} {
		if v, err := duration(text, 0, 2*time.Hour); err == nil || !strings.Contains(err.Error(), gist) {
			t.Errorf("%q: %v, error %v, want %q in it", text, v, err, gist)
		}
	}
	for text, gist := range map[string]string{"0": "not within", "1": "not within", "0.001 uv": "no unit", "x": "begin with"} {
		if v, err := tolerance(text); err == nil || !strings.Contains(err.Error(), gist) {
			t.Errorf("%q: %v, error %v, want %q in it", text, v, err, gist)
		}
	}
}

func TestRangesOfNames(t *testing.T) {
	for text, want := range map[string]string{
		"wash 1..3": "wash 1|wash 2|wash 3", "wash 08..11": "wash 08|wash 09|wash 10|wash 11",
		"row 2..3 left": "row 2 left|row 3 left", "key": "key", "0..1": "0|1", "x9..9": "x9",
	} {
		s, err := parseSpan(text)
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		var got []string
		for i := range s.count() {
			got = append(got, s.name(i))
		}
		if strings.Join(got, "|") != want {
			t.Errorf("%s: %s, want %s", text, strings.Join(got, "|"), want)
		}
	}
	for text, gist := range map[string]string{"wash 8..1": "counts down", "wash ..8": "either side", "wash 1..": "either side",
		"a 1..2 b 3..4": "either side", "x 1..99999": "names", "x 1..999999999999999999999": "99999", "a...b": "either side"} {
		if s, err := parseSpan(text); err == nil || !strings.Contains(err.Error(), gist) {
			t.Errorf("%q: %+v, error %v, want %q in it", text, s, err, gist)
		}
	}
}
