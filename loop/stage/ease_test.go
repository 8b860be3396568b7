package stage

import (
	"math"
	"testing"
	"time"
)

// Each way of a fade, against what it is: the level half way and at the end, and the colour on the way.
func TestALampFadesInItsWay(t *testing.T) {
	const e1 = 1 - 1/math.E
	for _, c := range []struct {
		ease       Ease
		half, full float64 // of the level, after half of its time and after all of it
		steady     bool    // the colour is the new one at once
	}{
		{EasesAll, 1 - math.Exp(-0.5), e1, false},
		{EasesLevel, 1 - math.Exp(-0.5), e1, true},
		{Glides, 0.5, 1, false},
	} {
		k := rgbw(Linear)
		k.Heat, k.Response, k.Delay, k.Ease = Heat{}, time.Second, 0, c.ease
		p := ordinary(k, 2, driven(4, 65535))
		red := []uint32{50000, 0, 0, 0}
		p.Set(red)
		p.Advance(500 * time.Millisecond)
		near(t, "half way", p.Light().Y/p.Would(red).Y, c.half, 1e-6)
		p.Advance(500 * time.Millisecond)
		near(t, "after its time", p.Light().Y/p.Would(red).Y, c.full, 1e-6)
		p.Advance(10 * time.Second)
		both := []uint32{50000, 0, 0, 50000}
		p.Set(both)
		p.Advance(100 * time.Millisecond)
		if got := p.Light().UV().Dist(p.Would(both).UV()) < 1e-6; got != c.steady {
			t.Errorf("way %d: the new colour at once: %v", c.ease, got)
		}
		p.Set(make([]uint32, 4))
		p.Advance(30 * time.Second)
		if !p.Dark() {
			t.Errorf("way %d: it does not go dark", c.ease)
		}
	}
}
