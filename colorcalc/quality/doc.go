// Package quality judges how well things look under a light of known
// spectrum: CIE 13.3 colour rendering, CIE 224 / ANSI/IES TM-30 fidelity and
// gamut, the spectral similarity index of SMPTE ST 2122, and TLCI-2012 of EBU
// Tech 3355. Compare says how alike two lights are to cameras and eyes: TLMF-2013
// of the same document, SSI, and CIEDE2000 over the samples of CIE 224.
//
// All but SSI work at 5 nm, as their standards tabulate them: 380-780 nm (TLCI
// 760 nm). A spectrum on another grid is brought to that one first; see
// spectrum.Spectrum.Resample. Results are not rounded: the standards print whole
// numbers, and so should whoever shows these.
package quality
