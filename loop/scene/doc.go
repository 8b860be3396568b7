// Package scene is what a probe sees beside the lamp, in time: the background, and
// the reference that everything is matched to. Both wander between the moments at
// which they are read, and nobody knows beforehand how fast. Each is a small Kalman
// filter whose rates of wandering are learnt from what every new passage of readings
// brings against what the last one foretold (weights over a grid of rates).
//
// An error of the background or of the reference is common to all readings that use
// it: it does not average away with more of them. So a lamp's claim is made with it, and
// looked at again when a later passage has shown where they were meanwhile.
//
// It is pure: no I/O, no clock. Times are on the caller's own clock.
package scene
