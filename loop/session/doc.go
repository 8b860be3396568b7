// Package session works a whole rig: check, survey, reference, match, verify,
// hand over, with a journal on disk before every step.
package session
