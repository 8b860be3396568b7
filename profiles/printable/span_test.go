package printable_test

import (
	"math"
	"testing"
	"time"

	"trueup/profiles/printable"
)

// A duration reads as people say it, with no 10m0s and no 0s behind minutes.
func TestSpansReadAsPeopleSayThem(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0: "0 ms", 250 * time.Millisecond: "250 ms", 1100 * time.Millisecond: "1.1 s", 5 * time.Second: "5 s", 48 * time.Second: "48 s",
		10 * time.Minute: "10 min", 999800 * time.Microsecond: "1 s", 59*time.Minute + 59700*time.Millisecond: "1 h", 9970 * time.Millisecond: "10 s", 150 * time.Second: "2 min 30 s", 65 * time.Minute: "1 h 5 min", 24 * time.Hour: "24 h", -2 * time.Second: "-2 s",
	} {
		if got := printable.Span(d); got != want {
			t.Errorf("%v: %q, want %q", d, got, want)
		}
	}
	if got := printable.Span(math.MinInt64); got == "" {
		t.Error("the least duration has no words")
	}
}
