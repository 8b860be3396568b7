// Package rigtest plays whole runs of a rig in virtual time: the run itself
// (session/core) on lamps, meters and a room that live (loop/stage), with no socket,
// goroutine or sleep. The same seed gives the same run, bit for bit.
//
// A Class says what is harsh about a scene. Rig draws one rig of it, Play plays
// it, Judge holds every claim of the run against the true light, Table prints what came
// of many.
package rigtest
