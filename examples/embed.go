// Package examples carries the example files, so that the demo runs from an
// installed program as well. They are meant to be copied and changed.
package examples

import "embed"

// Files holds every example below this folder.
//
//go:embed demo profiles
var Files embed.FS
