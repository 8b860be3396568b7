// Package spectrum holds spectra of lights, filters and surfaces: their grids,
// interpolation, integration to tristimulus values, readers for CSV and IES
// TM-27 XML, and generators for black bodies, daylight and LED-like lamps.
//
// Wavelengths are nanometres everywhere. Where a spectrum has no data it
// counts as zero (CIE 15:2018 leaves extrapolation to the user;
// we do not invent light). The spectrum is interpolated, never the result.
package spectrum
