package core

import (
	"strings"
	"testing"
)

// A lamp that gives light, and too little of it beside a bright room, is not said to have no power or a wrong address: it is said what light would do. One that gives
// none is.
func TestALampTooDimForTheRoomIsToldWhatLightWouldDo(t *testing.T) {
	for _, dark := range []bool{false, true} {
		b := newBench(t, 2, nil)
		b.p.ambient = 900
		b.read = func(a Ask, r *Reading) {
			if dark && a.Probe == "left" {
				r.Y = 900
			}
		}
		b.ended(nil)
		o := b.outcome("wash 0")
		if o == nil {
			t.Fatal("no outcome")
		}
		dim, none := strings.Contains(o.Reason, "too little light") && strings.Contains(o.Reason, "lux from it"), strings.Contains(o.Reason, "no light to speak of")
		if dim == dark || none != dark {
			t.Errorf("gives no light %v: %s: %s", dark, o.Result, o.Reason)
		}
	}
}
