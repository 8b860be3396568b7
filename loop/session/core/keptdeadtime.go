package core

import (
	"fmt"
	"slices"
	"time"

	"trueup/loop"
)

// A dead time that an earlier run has measured is used in the place of a measurement. It may be too short by now: other firmware, another
// node, another setting in the lamp's menu. So the first unit of the type that fades in from dark in a run is looked at. It is
// read as soon as its light should stand, and that reading is held against the next one, which the visit takes anyway: where they
// differ by more than noise explains, the light still moves. In a fade the level moves by all that it has, so a lamp that is half
// as slow again shows. A slow lamp moves too little from one reading to the next, but leaves time for readings while
// it is waited for, and these show its time constant. Where the kept dead time does not hold, it is measured as if there were none, and the
// visit begins anew. That it is longer than it need be by now nothing shows; whoever keeps it forgets it after a time.

const (
	slowerBy  = 1.5                    // than kept, by its time constant: it does not hold any more
	usualPace = 500 * time.Millisecond // of readings, where a probe's is not known yet
)

// waits is how long after the arrival of the light the next reading may begin: at once while another fits in before the light
// should stand.
func (d *deadTime) waits(c *Core) time.Duration {
	pace, _ := c.costs(d.u, usualPace)
	if c.now+2*pace < d.arrived+d.kept {
		return 0
	}
	return d.kept
}

// looked tells whether a reading began when the light should have stood.
func (d *deadTime) looked(r *Reading) bool {
	looked := r.At-r.Integration >= d.arrived+d.kept
	d.second = looked && !d.stated
	return looked
}

// lags tells whether the readings so far show that the light takes much longer than a kept dead time. Then it is measured from
// then on. Else what they show of a slow lamp is as good as what was kept: half of each counts.
func (d *deadTime) lags(c *Core) bool {
	lag, ok := loop.LagOf(d.samples, c.noiseAt(d.u.Info.Probe).sigmaLnY(), d.u.fading.up.long)
	rests := lag.Rests()
	switch {
	case !ok:
		return false
	case d.stated:
		c.lagged(d.key, lag)
		c.restsLonger(d.u, rests)
		return false
	case float64(rests) > slowerBy*float64(d.kept):
		d.failed(c)
		return true
	}
	c.lagged(d.key, lag)
	d.kept = d.measured(c, (d.kept+rests)/2)
	d.u.settle = max(d.kept, d.u.least)
	return false
}

// moved tells whether the first reading of a visit, after the look at a kept dead time, shows that the light still moves. Then
// the dead time is measured from then on.
func (d *deadTime) moved(c *Core, r *Reading) bool {
	if !d.second || r == nil {
		return false
	}
	if !slices.Equal(d.u.at.Sent, d.drive) {
		d.second = false
		return false
	}
	if !c.shines(r) {
		return false // the background and a lamp that is still dark stand still too
	}
	d.second = false
	if d.shone && !loop.Differs(d.samples[len(d.samples)-1], d.sample(r), c.noiseAt(d.u.Info.Probe).sigmaUV(), c.noiseAt(d.u.Info.Probe).sigmaLnY()) {
		d.shown.holds = c.unproven[d.key]
		delete(c.unproven, d.key)
		return false
	}
	d.failed(c)
	return true
}

// failed has a kept dead time measured anew.
func (d *deadTime) failed(c *Core) {
	c.enter(Entry{Kind: KindSettle, Fixture: d.u.Info.Name, Note: fmt.Sprintf("%s: its light still moves %d ms after the output has arrived, when it stood still in an earlier run: measured anew",
		d.u.Info.Profile, d.kept/time.Millisecond)})
	if c.unproven[d.key] { // else another lane has seen to it meanwhile
		delete(c.unproven, d.key)
		delete(c.deadTimes, d.key)
		c.fleeting[d.key] = true // until it is measured
		d.shown.fails = true
	}
	d.kept = 0
}
