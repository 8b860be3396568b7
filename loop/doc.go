// Package loop is the closed loop: one fixture, one target. Start reading here.
//
// The words: a fixture is set to parameters (its drive), the light settles, a
// reading of it comes back, and the estimate of the fixture gets better. A step
// is one such turn. The outcome is one of landed, out of reach, unsettled, held.
package loop
