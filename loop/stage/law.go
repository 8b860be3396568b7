package stage

import (
	"fmt"
	"math"
)

// Law is how an emitter or a dimmer turns its drive into light.
type Law int

// Laws, both sides 0..1. S is 3d^2 - 2d^3: slow at both ends.
const (
	Linear Law = iota
	Square
	SCurve
	Gamma // d^2.6
	nLaws
)

// gammaExponent lies above the square on purpose: a law that nobody's list of
// hypotheses holds exactly.
const gammaExponent = 2.6

var lawNames = [...]string{"linear", "square", "s", "gamma"}

func (l Law) String() string {
	if l < 0 || int(l) >= len(lawNames) {
		return fmt.Sprintf("Law(%d)", int(l))
	}
	return lawNames[l]
}

// ParseLaw reads a law's name.
func ParseLaw(s string) (Law, error) {
	for i, n := range lawNames {
		if n == s {
			return Law(i), nil
		}
	}
	return 0, fmt.Errorf("no dimmer law %q: one of linear, square, s, gamma", s)
}

// At gives the light 0..1 of a drive 0..1; drives outside are clamped.
func (l Law) At(d float64) float64 {
	d = min(max(d, 0), 1)
	switch l {
	case Square:
		return d * d
	case SCurve:
		return d * d * (3 - 2*d)
	case Gamma:
		return math.Pow(d, gammaExponent)
	}
	return d
}
