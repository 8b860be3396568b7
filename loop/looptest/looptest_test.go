package looptest

import (
	"os"
	"strconv"
	"strings"
	"testing"
)

// size is how many cases of a class are played: few by default, thousands with
// TRUEUP_LONG=1 (the published table), or any number with TRUEUP_CASES.
func size(short int) int {
	if n, err := strconv.Atoi(os.Getenv("TRUEUP_CASES")); err == nil && n > 0 {
		return n
	}
	if os.Getenv("TRUEUP_LONG") == "1" {
		return 2000
	}
	return short
}

func TestCasesCanBeDrawn(t *testing.T) {
	for _, cl := range Classes() {
		for n := range size(20) {
			c := cl.NewCase(1, n)
			w := c.Start()
			got := w.light(w.Plant.Light()).UV()
			if !(got.V > 0) {
				t.Fatalf("%s %d: the lamp as found gives no light", cl.Name, n)
			}
			if c.Reachable {
				if d := w.nearest(c.Target.UV); d > 0.0004 && cl.Bits != 8 {
					t.Errorf("%s %d: target %v called reachable, best possible is %.4f off (%s, %s)", cl.Name, n, c.Target.UV, d, c.Spec.Kind, c.Kind.Law)
				}
			}
		}
	}
}

// The bench table: every method on every class, the same seeds side by side.
// TRUEUP_SEED moves to other lamps.
func TestBench(t *testing.T) {
	seed := uint64(4711)
	if n, err := strconv.ParseUint(os.Getenv("TRUEUP_SEED"), 10, 64); err == nil {
		seed = n
	}
	var scores []Score
	for _, cl := range append(Classes(), Trials()...) {
		if only := os.Getenv("TRUEUP_CLASS"); only != "" && !strings.Contains(cl.Name, only) {
			continue
		}
		for _, m := range append([]Method{Ours()}, Usual()...) {
			if only := os.Getenv("TRUEUP_METHOD"); only != "" && !strings.Contains(m.Name, only) {
				continue
			}
			var runs []Run
			for n := range size(12) {
				runs = append(runs, cl.NewCase(seed, n).Play(m))
			}
			scores = append(scores, Sum(cl.Name, m.Name, runs, Tol))
		}
	}
	t.Logf("seed %d\n%s", seed, Table(scores))
}
