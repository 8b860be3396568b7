// Package solve holds the numbers of the closed loop: the estimate of a
// fixture, the damped Newton step, the stopping rule. It is pure: no I/O, no
// clock, no goroutine, no global; the same inputs give the same decisions, bit
// for bit.
package solve
