// Package page is the local web page of a rig: what a person with a phone at the lamp sees and may do. It
// knows nothing of lamps. A [Board] folds the entries of a run into the state that every browser shows, a
// [Desk] arms, starts, holds and stops runs as the commands do, and a [Server] is the way in, guarded.
package page
