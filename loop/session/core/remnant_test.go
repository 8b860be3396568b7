package core

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// What a meter still shows of the lamp before is no light of the next one; a lamp that is as faint and as alike is believed by its second reading.
func TestWhatIsLeftOfTheLampBeforeIsNoLight(t *testing.T) {
	was := colorcalc.UV{U: 0.21, V: 0.50}
	for _, c := range []struct {
		what string
		uv   colorcalc.UV
		y    []float64 // readings of the lamp, one after another
		own  int       // which of them is the first that counts; -1: none
	}{
		{"falls", was, []float64{30, 12, 5, 2}, -1},
		{"faint, of the same colour", was, []float64{30, 30.05}, 1},
		{"as bright", was, []float64{70}, 0},
		{"of another colour", colorcalc.UV{U: 0.22, V: 0.50}, []float64{30}, 0},
	} {
		b := newBench(t, 2, nil)
		before, u := b.c.units[1], b.c.units[2]
		before.Info.Probe = u.Info.Probe
		before.own = was.XYZ(100)
		before.tally.last = &Stand{UV: was}
		u.at.At = 10 * time.Second
		u.fading = fading{gone: []*unit{before}}
		first := -1
		for k, y := range c.y {
			if b.c.remnant(u, &solve.Reading{UV: c.uv, Y: y, HasY: true, SigmaUV: 3e-4, SigmaLnY: 0.005}) == nil {
				first = k
				break
			}
		}
		if first != c.own {
			t.Errorf("%s: reading %d counts, want %d", c.what, first, c.own)
		}
	}
}
