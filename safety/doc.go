// Package safety holds the governor: the part that every level passes on its
// way out, and that no code can go round.
//
// Words: a [Head] is one separately controlled light-emitting unit, compiled
// into a [SlotRule] per parameter. The loop says a *wish* (codes of a head's
// movable slots); the [Governor] decides what the wire gets, frame by frame,
// so that the [Limits] hold whatever is wished. A [Door] owns a governor and
// the E1.31 sender it feeds: it is the only way for levels to leave.
//
// The governor is pure in time: now is an argument, the same calls give the
// same frames. It counts light, not slot values: code through curve, emitter
// times dimmer, all as fractions of the head's full light output.
//
// What it cannot do is in [Cautions]; read it first. It is not a safety function in the
// sense of IEC 61508.
package safety
