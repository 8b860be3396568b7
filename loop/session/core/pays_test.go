package core

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// A passage in the dark goes on past its usual end where that saves more readings of the lamp than it takes.
func TestReadingTheDarkOnPays(t *testing.T) {
	room := colorcalc.UV{U: 0.21, V: 0.48}.XYZ(100)
	for _, s := range []struct {
		name  string
		sigma float64 // of the meter
		lux   float64 // of the lamp
		want  bool
	}{
		{"a quiet meter", 0.0002, 100, false},
		{"a light much brighter than the background", 0.0006, 1000, false},
		{"a noisy meter, a background as bright as the light", 0.0008, 100, true},
		{"a light too weak to be matched there", 0.0008, 1, false},
	} {
		c := &Core{cfg: Config{Plan: Plan{Tolerance: 0.001}}, meters: meters{first: meterNoise{sumSq: 2 * 1e4 * s.sigma * s.sigma, dof: 1e4}}}
		d := &dark{Background: scene.NewBackground(room, firstDark, c.meter(""), 0), light: colorcalc.UV{U: 0.2, V: 0.47}.XYZ(s.lux)}
		var got []Reading
		for i := range mostDark {
			got = append(got, Reading{UV: room.UV(), Y: room.Y, HasY: true, At: 10*time.Second + time.Duration(i)*300*time.Millisecond})
			c.now = got[i].At
		}
		if pays := d.pays(c, got); pays != s.want {
			t.Errorf("%s: it pays to read on: %v, want %v", s.name, pays, s.want)
		}
	}
}
