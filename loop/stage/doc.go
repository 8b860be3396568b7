// Package stage is the simulated stage: spectral fixtures and a meter behind
// real sockets, E1.31 in and readings out. It stands for lamps nobody has met.
package stage
