package stage

import (
	"time"

	"trueup/colorcalc"
)

// Leap goes to a moment without the meters of the hall looking: each lamp is brought there
// when it is looked at or set. Who plays a hall in virtual time has meters of their own; Leap and Advance
// are not for the same hall.
func (h *Hall) Leap(to time.Duration) { h.now = max(h.now, to) }

// On is the light on a probe now, averaged over the next d, lux; black where there is no
// such probe. A rig with one probe need not name it.
func (h *Hall) On(probe string, d time.Duration) colorcalc.XYZ {
	for _, p := range h.probes {
		if p.Name == probe || probe == "" && p.Name == unnamed {
			return h.at(p, h.now, h.now+d)
		}
	}
	return colorcalc.XYZ{}
}

// here is the lamp's plant, brought to the present.
func (l *standing) here(now time.Duration) *Plant {
	l.plant.Advance(now - l.plant.now)
	return l.plant
}
