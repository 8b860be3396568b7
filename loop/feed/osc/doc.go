// Package osc reads Open Sound Control 1.0 as far as a meter speaks it: messages
// and bundles, from bytes that are not trusted. Everything is big-endian and
// padded to four bytes (specification 1.0, sections "OSC Packets" to "OSC
// Bundles"). It is pure and imports nothing of ours.
package osc
