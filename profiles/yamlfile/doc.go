// Package yamlfile reads the YAML files that people write (rigs, profiles,
// instruments, stages) strictly: unknown keys, wrong types and wrong units are
// errors that name file, line and column, and all of them are found at once.
// It knows no format of ours and imports nothing of ours, so that every room
// may use it.
//
// A file's shape is a Go struct. Its tags say what the file may hold; Decode
// checks them and Schema prints the same tags as JSON Schema, so that an
// editor and the program can not disagree:
//
//	yaml:"rise"         the key (a field without it is left alone)
//	need:"yes"          the key must be there
//	one:"own overlay"   text must be one of these words
//	min:"0" max:"200"   inclusive range of a number, or of each item of a list
//	items:"3 12"        fewest and most items of a list or map
//	help:"..."          what an editor shows
//
// Values are read by the type of the field: bool, integers, floats, text
// (which takes a number as it is written, so that "60 %" and 60 can be told
// apart by the caller), slices, maps with text keys, structs, pointers to all
// of these (nil = left out), and Node, which keeps the value for later where a
// key may hold one of several shapes. A struct embedded in another lends it its
// keys.
//
// YAML's anchors, aliases, merge keys, tags and several documents in one file
// are refused: what a file says stands where it is read.
package yamlfile
