// Package yamlfile reads the YAML files that people write (rigs, profiles,
// instruments, stages) strictly: unknown keys, wrong types and wrong units are
// errors that name file, line and column, and all of them are found at once.
// It knows no format of ours and imports nothing of ours, so that every room
// may use it.
package yamlfile
