// Package model holds what a head may be: the specification of its mode, the
// laws by which codes become light, the state of what is not known of it, its
// prior, its process noise, its Jacobian and its bounds.
//
// A Mixture is a head with one channel per emitter: light adds. An Engine is a
// head whose own computer mixes the colour from one or two parameters; its
// engineLaw is the ideal of the mode with a learnt correction.
//
// Everywhere a drive d is given as fractions of full scale, one per channel of
// the Spec, and a prediction z is (u', v', ln Y as the meter has it).
package model
