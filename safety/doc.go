// Package safety is the governor: the part that every level passes on its way
// out, and that no code can go round. It knows slots, curves and limits; it
// knows no profile, no colour target and no file.
package safety
