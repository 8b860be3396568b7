package solve

import (
	"math"
	"slices"
	"testing"
	"time"

	"trueup/colorcalc"
)

// A lamp that goes elsewhere by itself in the midst of its match, as one that warms does, is not landed on the readings of before: those of its
// last stay must not lie outside by more than their noise.
func TestNoLandingAgainstItsOwnLastReadings(t *testing.T) {
	landed := 0
	for k := range uint64(300) {
		s := sevenSpec(4+int(k%3), 65535)
		l := unit(s, 5000+k, 1)
		m := start(t, s, warmWhite, nil)
		by := colorcalc.UV{U: 0.0024 * math.Cos(float64(k)), V: 0.0024 * math.Sin(float64(k))}
		var now Drive
		var stay []colorcalc.UV
		at := time.Duration(0)
		for n := 0; ; n++ {
			d := m.Next(at)
			if d.Action == Done {
				if d.Outcome != Landed || !slices.Equal(d.Drive, now) {
					break
				}
				landed++
				mean := colorcalc.UV{}
				for _, c := range stay {
					mean.U, mean.V = mean.U+c.U/float64(len(stay)), mean.V+c.V/float64(len(stay))
				}
				if off := mean.Dist(warmWhite); off > defaultTol+3*l.sigma/math.Sqrt(float64(len(stay))) {
					t.Errorf("lamp %d: landed, and the mean of the %d readings there is %.4f off", k, len(stay), off)
				}
				break
			}
			if d.Action == Move {
				now, stay = d.Drive, nil
			}
			at += 300 * time.Millisecond
			r := l.read(now, at)
			if n >= 3 {
				r.UV.U, r.UV.V = r.UV.U+by.U, r.UV.V+by.V
			}
			if m.Observe(r).Verdict == Accepted {
				stay = append(stay, r.UV)
			}
		}
	}
	t.Logf("%d of 300 landed", landed)
}
