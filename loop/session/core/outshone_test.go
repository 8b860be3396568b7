package core

import (
	"strings"
	"testing"

	"trueup/colorcalc"
)

// A lamp that shines when it is sent its first colour in the dark, as one at a wrong address does, and reaches the probe of the reference, is no part of what the others are matched to. A
// light that comes at that moment by itself is.
func TestALampThatShinesInTheDarkIsNoReference(t *testing.T) {
	window := colorcalc.XY{X: 0.3690, Y: 0.3600}.UV()
	for what, stays := range map[string]bool{"its light": false, "a light of the room": true} {
		b := newBench(t, 4, func(c *Config) { c.Units = dimmed(4) })
		came := false
		b.read = func(a Ask, r *Reading) {
			d := b.p.stands[1]
			if a.Probe != "ref" || d == nil {
				return
			}
			light := r.UV.XYZ(r.Y)
			came = came || d[0]+d[1]+d[2] > 0
			for k, e := range testEmitters {
				if came && stays {
					light = light.Add(e.Scale(0.5))
				} else {
					light = light.Add(e.Scale(float64(d[k]) / 65535))
				}
			}
			r.UV, r.Y = light.UV(), light.Y
		}
		b.tell(Event{Kind: Begin})
		b.until("the reference", func() bool { return b.c.ref != nil && b.c.ref.Readings > 0 })
		if off := b.c.ref.UV.Dist(window); (off > 0.002) != stays {
			t.Errorf("%s: the reference is taken to be %.4f from where it is alone", what, off)
		}
		said := false
		for _, e := range b.log {
			said = said || strings.Contains(e.Note, "may shine with its dimmer down")
		}
		if !said {
			t.Errorf("%s: it is not said that a lamp may shine", what)
		}
	}
}
