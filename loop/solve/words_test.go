package solve

import "testing"

// One reading is said in the singular.
func TestReadingsAreCountedAsPeopleSayIt(t *testing.T) {
	for n, want := range map[int]string{0: "0 readings", 1: "1 reading", 9: "9 readings"} {
		if got := counted(n); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
}
