// Package plan turns a state into a drive: which codes give a chromaticity, and
// a level, by what is known of the head.
//
// For a mixture of emitters that is a small linear program in light, held on the
// same three emitters while that works, a bounded Newton step for small
// corrections, and the nearest mixture where the target is out of reach. For an
// engine it is Newton's method in its two parameters, with a grid and a pattern
// search behind it. Both end on the lattice of codes.
package plan
