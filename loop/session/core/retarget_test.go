package core

import (
	"math"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// A visit that waits while the reference is read goes on to where that is now: it went on to where it had been, and landed .0023 off at a tolerance of .0010.
func TestAVisitThatWaitsGoesOnToWhereTheReferenceIs(t *testing.T) {
	for moves, anew := range map[float64]bool{0.006: true, 0: false} {
		b := newBench(t, 3, nil)
		b.tell(Event{Kind: Begin})
		b.until("the reference is read", func() bool { return b.c.moving != nil })
		c, u := b.c, b.c.units[1]
		v := &secondVisit{u: u}
		m, err := v.asFirst(c)
		if err != nil {
			t.Fatal(err)
		}
		read := solve.Reading{UV: c.ref.UV, Y: 100, HasY: true, SigmaUV: 0.0004, At: c.now, Drive: make(solve.Drive, len(u.Spec.Channels))}
		m.Observe(read)
		u.given = []given{{r: read, noise: 0.0004}}
		v.match = m
		c.main.tasks = append([]task{&back{task: v, want: want{read: &Ask{}}}}, c.main.tasks...)
		r := &reference{again: true, most: nextReference, u: c.find(c.cfg.Plan.Target.Reference)}
		for k := range nextReference {
			r.uv = append(r.uv, colorcalc.UV{U: c.ref.UV.U + moves, V: c.ref.UV.V})
			r.lnY, r.light = append(r.lnY, math.NaN()), append(r.light, nil)
			r.at = append(r.at, c.now+time.Duration(k+1)*300*time.Millisecond)
		}
		r.follow(c)
		if made := v.match != m; made != anew {
			t.Errorf("the reference moved by %g: match made anew %v, want %v", moves, made, anew)
		}
	}
}
