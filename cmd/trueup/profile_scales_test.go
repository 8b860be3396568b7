package main

import (
	"testing"

	"trueup/loop/solve"
	"trueup/loop/stage"
	"trueup/profiles"
)

// A scale may run either way round, over a part of the codes, and begin where it
// likes: the lamp lands all the same, and as soon as one whose scale is plain.
func TestScalesOfEveryShapeLand(t *testing.T) {
	for name, mode := range map[string]string{
		"saturation reversed":     `{mode: m, kind: hue-saturation, slots: 3, hue: {slots: [1, 2]}, saturation: {slots: [3], percent: [100, 0]}}`,
		"hue reversed, partial":   `{mode: m, kind: hue-saturation, slots: 3, hue: {slots: [1], levels: [0, 250], degrees: [360, 0]}, saturation: {slots: [2, 3]}}`,
		"hue about red":           `{mode: m, kind: hue-saturation, slots: 4, hue: {slots: [1, 2], degrees: [-180, 180]}, saturation: {slots: [3, 4], levels: [1000, 60000]}}`,
		"kelvin falling, partial": `{mode: m, kind: cct, slots: 4, cct: {slots: [1, 2], levels: [1000, 60000], kelvin: [6500, 2700]}, tint: {slots: [3, 4], levels: [500, 65000], percent_green: [50, -50]}}`,
		"x and y falling":         `{mode: m, kind: xy, slots: 4, x: {slots: [1, 2], range: [0.8, 0]}, y: {slots: [3, 4], levels: [3000, 65535], range: [0.8, 0]}}`,
		"emitters over a part": `{mode: m, kind: emitters, slots: 8, curve: linear, emitters: [{name: red, slots: [1, 2], levels: [3000, 40000]}, {name: green, slots: [3, 4], levels: [3000, 40000]},
      {name: blue, slots: [5, 6], levels: [0, 50000]}, {name: white, slots: [7, 8]}]}`,
	} {
		p, err := profiles.Parse("p.yaml", []byte("profile: Shape\nmodes:\n  - "+mode+"\n"))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for seed := range 2 * landSeeds() {
			l := newLanding(t, p, "m", stage.LampFile{Law: "linear"}, seed+3)
			d, n, off := l.match(t, l.reachable(t, int(seed)))
			t.Logf("%s, lamp %d: %v after %d readings, %.4f off", name, seed, d.Outcome, n, off)
			if d.Outcome != solve.Landed || off > 0.0015 || n > 15 {
				t.Errorf("%s, lamp %d: %v after %d readings, %.4f off: %s", name, seed, d.Outcome, n, off, d.Reason)
			}
		}
	}
}
