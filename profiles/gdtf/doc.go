// Package gdtf drafts a fixture profile from a GDTF archive (DIN SPEC 15800,
// versions 1.0 to 1.2).
//
// A GDTF file is what somebody typed in: every number in it is a claim. A draft
// is a start for a person, with a comment at every guess and a list of what was
// not understood; it is checked and measured before anything is driven by it.
// The archive is taken as hostile: only description.xml is read, sizes and
// depths are bounded, and document types and entities are refused.
package gdtf
