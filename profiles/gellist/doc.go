// Package gellist reads a list of filters as a person writes it: YAML, each filter with its
// shift in mired and Duv, or a file with its transmittance. It is the one home of that
// format, for the command gel and for a rig that names its list.
package gellist
