package core

import (
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/loop/solve"
)

// Light of a television that is read with a lamp lit is no lamp's: it is of the colour of the dark, and no more than the dark itself was seen to go by. A dim lamp of the
// target's colour is one, and so is one that gives more than that.
func TestATelevisionIsNoLamp(t *testing.T) {
	b := newBench(t, 2, nil)
	b.tell(Event{Kind: Begin})
	b.until("the reference is read", func() bool { return b.c.ref != nil })
	c, u := b.c, b.c.units[1]
	blue := colorcalc.UV{U: 0.19, V: 0.44}
	d := &dark{Background: scene.NewBackground(blue.XYZ(0.4), 5, c.meter(""), 0), when: c.now}
	d.saw([]Reading{{Y: 0.4}, {Y: 4.1}, {Y: 1.6}})
	c.background[u.Info.Probe] = d
	for light, none := range map[colorcalc.XYZ]bool{blue.XYZ(1.4): true, blue.XYZ(9): false, window.XYZ(1.4): false} {
		u.own, d.light = light, light
		end := solve.Decision{Outcome: solve.Unsettled, Reason: "beside a light"}
		if is := c.ofTheDark(u, &end); is != none || strings.Contains(end.Reason, "no light to speak of") != none || (u.own.Y > 0) == none || (d.light.Y > 0) == none {
			t.Errorf("%.1f lux of %v: %v, %s: %s", light.Y, light.UV(), is, end.Outcome, end.Reason)
		}
	}
}

// A lamp that gives no light is not visited again for a change of the dark that can have hid next to nothing beside what lamps give here; one whose light it may have hid is.
func TestAnUnlitLampIsVisitedAgainForWhatMayHaveHidIt(t *testing.T) {
	for by, again := range map[float64]bool{2.6: false, -2.6: false, -20: true} {
		b := newBench(t, 3, nil)
		c, u, o := b.c, b.c.units[1], b.c.units[3]
		o.Info.Probe = u.Info.Probe
		d := &dark{Background: scene.NewBackground(window.XYZ(3), 5, c.meter(""), 0), light: window.XYZ(40)}
		c.background[u.Info.Probe] = d
		o.own = window.XYZ(40)
		u.unseen = &unseen{at: time.Second, net: -0.5}
		if c.notUnlit(u.Info.Probe, 0, by); u.again != again {
			t.Errorf("a change by %.1f lux: visited again %v, want %v", by, u.again, again)
		}
	}
}
