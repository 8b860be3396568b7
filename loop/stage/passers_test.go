package stage

import (
	"testing"
	"time"

	"trueup/colorcalc"
)

// Somebody passes now and then, stays for seconds, and takes five to forty parts in a hundred of the light; in between nothing is taken.
func TestPassersTakeAPartOfTheLight(t *testing.T) {
	p := NewPassers(40*time.Second, 7, "mark")
	light := colorcalc.UV{U: 0.21, V: 0.49}.XYZ(100)
	least, clear, times, was := 100.0, 0, 0, false
	const step = 100 * time.Millisecond
	const n = 20 * 60 * 10
	for i := range n {
		got := p.Through(light, time.Duration(i)*step)
		least = min(least, got.Y)
		in := got.Y < light.Y
		if !in {
			clear++
			if got != light {
				t.Fatalf("%v: %v of %v with nobody there", time.Duration(i)*step, got, light)
			}
		}
		if in && !was {
			times++
		}
		was = in
	}
	if least < 59 || least > 95 || times < 15 || times > 60 || clear < n*8/10 {
		t.Errorf("in 20 minutes somebody passed %d times, the least light was %.0f of 100, and nobody was there in %d of %d looks", times, least, clear, n)
	}
	if got := NewPassers(0, 7, "mark").Through(light, time.Minute); got != light {
		t.Errorf("nobody passes, and of %v there is %v", light, got)
	}
}
