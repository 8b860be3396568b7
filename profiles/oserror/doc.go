// Package oserror puts into plain words what the operating system and Go's own
// libraries say of a network, a port, a file or a line of JSON: what is wrong, and what to do.
//
// Whatever shows an error to a person shows [Text] of it. The errors themselves
// keep what they wrap, so that errors.Is and errors.As find it as ever. It knows no
// format of ours and imports nothing of ours.
package oserror
