// Package examples carries the example rigs, so that the demo runs and rigs can
// be copied from an installed program as well. They are meant to be copied and changed.
package examples

import "embed"

// Files holds every example below this folder.
//
//go:embed demo profiles beside-a-desk theatre-cyc led-wall interview camera-match cameras
var Files embed.FS
