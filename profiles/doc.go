// Package profiles reads fixture profiles that people write themselves, checks
// them, and turns parameters into slots and back.
//
// A profile is what a fixture's manual says of its modes, in YAML:
//
//	profile: Wash 14
//	modes:
//	  - mode: RGBW 16 bit
//	    kind: emitters
//	    slots: 10
//	    dimmer: {slots: [1, 2]}
//	    emitters:
//	      - {name: red, slots: [3, 4]}
//	      - {name: green, slots: [5, 6]}
//	      - {name: blue, slots: [7, 8]}
//	      - {name: white, slots: [9, 10], kelvin: 5600}
//
// examples/reference-profile.yaml shows every key with its unit, range and
// default; file.go is the same as Go types, from which the checks and the JSON
// Schema are both made. What a manual does not say is left out: a colour word
// alone gives a wide first guess (words.go says how wide, and why), and the
// readings do the rest.
//
// The words: a mode has parameters (Param), each on one to three slots, coarse
// first. The value of a parameter on its slots is its code, from 0 to Max. The
// order of a head's codes is that of Mode.Params, everywhere in the program.
// Pins are slots held at one level, Never are slots sent nothing but their safe
// level.
//
// The package opens a profile and the spectrum files beside it, and nothing
// else. It knows neither sACN nor limits: what is sent, and how fast, is not
// decided here.
package profiles
