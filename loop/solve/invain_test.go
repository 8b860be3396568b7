package solve

import (
	"strings"
	"testing"
	"time"
)

// A match is in vain where what its readings have in common leaves nothing of the tolerance, as soon as the head stands well inside, and says so;
// not before, and not where more readings may land it.
func TestInVainWhereTheCommonDoubtTakesTheTolerance(t *testing.T) {
	for _, common := range []float64{0.0002, 0.0006} {
		s := sevenSpec(4, 65535)
		m := start(t, s, warmWhite, nil)
		m.Common(common)
		l := unit(s, 3, 1)
		if _, ok := m.InVain(); ok {
			t.Error("in vain before it was read")
		}
		said := ""
		var now Drive
		for n := range 20 {
			at := time.Duration(n) * time.Second
			d := m.Next(at)
			if d.Action == Done {
				break
			}
			if d.Action == Move {
				now = d.Drive
			}
			m.Observe(l.read(now, at))
			if e, ok := m.InVain(); ok {
				said = e.Reason
				if e.Outcome != Unsettled || e.Cause != MeterNoise || e.Distance > defaultTol/2 {
					t.Errorf("%+v", e)
				}
				break
			}
		}
		if want := common > 0.0005; (said != "") != want || want && !strings.Contains(said, "one of 0.001") {
			t.Errorf("common %.4f: %q", common, said)
		}
	}
}
