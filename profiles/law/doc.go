// Package law says what a code of a mode means, and which code means it: the one
// home of that knowledge. Profiles fill its types from what a person wrote; the
// solver's ideal, the settings sheet, the prompts of a lamp set by hand and the
// report ask them.
//
// Each parameter of a mode is a Scale over a Range of codes:
//
//	Level       light of an emitter or a dimmer, by a response Curve
//	CCT         colour temperature, linear in kelvin or in mired, or in steps
//	Tint        Duv, linear; counted in Duv, in percent of a green filter, or in no known unit
//	Axis        CIE 1931 x or y, linear
//	Hue         degrees, linear, either way round
//	Saturation  0..1, linear, either way round
//	Knob        what a knob or a menu of a lamp set by hand shows
//
// Every scale goes both ways. A code gives a value, and the value gives back
// that very code; on a scale in steps it gives a code of the same step. Codes
// beyond Lo..Hi give the value of the end, and values beyond the scale the code
// of the end. What is shown to people is rounded no coarser than one code, so
// that a figure dialled from a sheet is that code again.
//
// The solver works with fractions of a scale instead of codes, 0 at Lo and 1 at
// Hi, and between the codes too. It asks the same scales.
//
// How hue and saturation become a mixture of three primaries is in Parts and
// OfParts; the named RGB spaces in SpaceOf. Where a colour temperature and a
// Duv lie is not here but in colorcalc.
//
// The package is pure and imports nothing of ours but colorcalc.
package law
