// Package profiles reads fixture profiles that people write themselves, checks
// them, and turns parameters into slots and back.
package profiles
