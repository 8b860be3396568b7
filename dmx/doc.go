// Package dmx holds the words of the control network: universes, slots, and
// addresses as the trade writes them. A slot is one 8-bit value of a universe
// (ANSI E1.11); the wire itself (ANSI E1.31) is in dmx/sacn.
package dmx
