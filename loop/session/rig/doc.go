// Package rig reads the rig file: one show's output, feeds, limits, target and
// fixtures, as a person writes them. Load finds every error of a file at once,
// each with file, line, column and what to do.
//
// The words are those of the trade: a fixture is a lamp with a profile (what
// its manual says), a mode, and an address (universe/slot, "1/101"). A fixed
// fixture can not be changed and is only ever measured; a by-hand fixture is
// changed by a person.
package rig
