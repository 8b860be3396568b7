package core

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// One dim lamp, as one in another mode is, does not decide that the lamps which nobody has read are too dim beside a light that changes all the time. Three do.
func TestOneDimLampDoesNotGiveUpTheOthers(t *testing.T) {
	b := newBench(t, 6, func(c *Config) {
		for i := range c.Units[1:] {
			c.Units[i+1].Info.Probe = "left"
		}
	})
	b.tell(Event{Kind: Begin})
	b.until("the dark is read", func() bool { return b.c.background["left"] != nil && b.c.ref != nil })
	d := b.c.background["left"]
	for k := range 4 {
		d.jumps = append(d.jumps, scene.Jump{At: time.Duration(k) * time.Second, By: colorcalc.UV{U: 0.2, V: 0.46}.XYZ(18)})
	}
	unread := b.c.units[len(b.c.units)-1]
	for read, want := range []bool{false, false, false, true} {
		if read > 0 {
			b.c.units[read].own = window.XYZ(20)
		}
		d.light = window.XYZ(20)
		if got := d.harms(b.c, unread); got != want {
			t.Errorf("%d dim lamps were read: one that was not is given up: %v", read, got)
		}
	}
}
