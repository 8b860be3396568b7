package session

import (
	"time"

	"trueup/dmx/sacn"
	"trueup/loop/session/rig"
)

// Before is what a live run takes before its first event: listening to the network, and the look
// at the start.
func (j *Job) Before() time.Duration {
	if out := j.Rig.Output; out.Mode == rig.Overlay || !out.Local() {
		return sacn.ListenTime + takeoverPause
	}
	return takeoverPause
}
