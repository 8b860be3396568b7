// Package estimate holds what is known of one head and how a reading changes
// it.
//
// A Sum is a Gaussian sum (Alspach and Sorenson 1972): rival response laws,
// tighter and wider scatter of units are its components, and the evidence of every
// reading moves their weights. Each component is an iterated extended Kalman
// filter (Bell and Cathey 1993) in z = (u', v', ln Y). A Process is what drives
// of one engine have in common beside its law (a Gaussian process). A Batch is
// what units of one profile have in common (a hierarchical prior).
//
// # Shapes
//
// A state x has N values (model.Dim), its covariance P is N x N. The Jacobian H
// is 3 x N, the reading's covariance R and the innovation's S = H P H' + R are
// 3 x 3 in (u', v', ln Y); without a level the third row and column of S are those
// of the unit matrix. All are stored row by row.
package estimate
