// Package colorcalc is the colour science of the house: quantities with their
// units in their types, and the conversions between them.
//
// The words used here and everywhere above:
//
//	XYZ   CIE 1931 tristimulus values (2 degree observer unless said otherwise)
//	XY    CIE 1931 chromaticity x, y; the zero XY means "no reading", never black
//	UV    CIE 1976 chromaticity u', v'; all differences of this program are measured here
//	UV60  CIE 1960 chromaticity u, v; used only where a definition demands it (CCT, Duv, CRI)
//	Kelvin, Mired, Duv   correlated colour temperature, 1e6/kelvin, and the signed
//	      distance from the Planckian locus in UV60 (ANSI C78.377: + green, - magenta)
//
// A tint can not be passed where a temperature belongs:
//
//	White(5600, -0.002)        // untyped constants: fine, but say so in a comment
//	White(Duv(-0.002), 5600)   // does not compile
//
// The package imports mathematics only: no file, clock, socket or log.
package colorcalc
