// Package gel works out which filters bring one light to another: none, or the
// best one, two or three layers of a list, what is left over, and what they cost.
//
// Shifts are counted as the trade does: in mired, positive to the warm side,
// and in Duv, positive to the green side. A filter multiplies the spectrum of
// the light; where the spectra of light and filters are known the product is
// computed. Where only a chromaticity is known the result is a guess and says so.
package gel
