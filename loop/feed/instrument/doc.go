// Package instrument reads what a meter sends by a description that a person
// wrote of it: description, then a compiled Instrument, then drafts of readings
// with their units, rounding and remarks, or the reason why a message is none.
// It is pure: no file, no socket, no clock. What becomes of a draft is the feed's
// to decide.
//
// What comes in is not trusted: lengths and counts are bounded, patterns are
// RE2, and nothing that an instrument sends is an error of ours.
package instrument
