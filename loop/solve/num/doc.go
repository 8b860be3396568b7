// Package num holds the small numbers below the estimate: 3x3 systems, the
// covariance of two, the probability of a Gaussian within a circle, the factor of
// Cholesky, hulls. Everything is bounded, and nothing allocates but Hull.
//
// Matrices are slices or arrays, row by row. What may fail says so: nothing is
// repaired in silence.
package num
