package printable

import "testing"

// One of a thing is said in the singular, none and more in the plural.
func TestCountIsSaidAsPeopleSayIt(t *testing.T) {
	for n, want := range map[int]string{0: "0 readings", 1: "1 reading", 2: "2 readings"} {
		if got := Count(n, "reading"); got != want {
			t.Errorf("Count(%d) = %q, want %q", n, got, want)
		}
	}
}
