package rigtest

import (
	"os"
	"testing"
)

// Where several harsh things come together, next to no lamp is claimed falsely, and what is claimed is nearly always inside; lamps that could be matched
// are given up in rooms that are nearly as bright as they are, and seldom elsewhere.
func TestSeveralHarshThingsAtOnce(t *testing.T) {
	rigs := 40
	if os.Getenv("TRUEUP_LONG") != "" {
		rigs = 300
	}
	n := drawn(t, Mixed, 0, rigs)
	if share(n.inside, n.landed) < 0.96 || share(n.beyond, n.landed) > 0.005 || share(n.missed, n.reachable) > 0.04 {
		t.Error("want at least 96 % inside, at most 0.5 % beyond and 4 % not landed")
	}
}
