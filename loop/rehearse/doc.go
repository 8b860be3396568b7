// Package rehearse plays runs in virtual time: the run itself (session/core) on lights
// and meters that are computed, with no socket, goroutine, file or sleep. The same input gives
// the same run, bit for bit.
//
// A World is the clock and the meters; what is driven stands behind its Wire. Rig plays a rig
// file as it stands: its lamps as their profiles describe them (loop/stage), every level through
// the governor (safety) in frames of virtual time, so that a fade costs what it will
// really cost. package rigtest plays its harsh scenes in the same World.
package rehearse
