package core

import (
	"fmt"
	"time"
)

// smallStep is what ramp and frames of a step at the target take.
const smallStep = 100 * time.Millisecond

// meterPace is how soon the meter at a probe gives its next reading.
type meterPace struct {
	last   time.Duration // when it gave the last one
	least  time.Duration // between two readings that came one after the other; 0: not known
	window time.Duration // of its last reading of a lamp; 0: it does not tell, or read none yet
	untold bool          // it was asked, and did not
	copies copies        // of one result, that count as readings
}

// usual is about how long its readings of a lamp take: one after the other, before the first of them; 0: not known.
func (p *meterPace) usual() time.Duration {
	if p.window == 0 {
		return p.least
	}
	return p.window
}

// timed takes in when a probe gave a reading.
func (c *Core) timed(r *Reading) {
	p := c.paces[r.Probe]
	if p == nil {
		p = &meterPace{}
		c.paces[r.Probe] = p
	}
	if apart := r.At - p.last; p.last > 0 && apart > 0 && (p.least == 0 || apart < p.least) {
		p.least = apart
	}
	p.last = r.At
	if p.copies.take(r) {
		c.enter(Entry{Kind: KindDrift, Note: fmt.Sprintf("most readings at %s repeat the one before to the last digit: if the meter shows one result several times, "+
			"say new: change in its instrument description (trueup feed schema); as it is each copy counts as a reading, and the meter is taken for better than it is", atProbe(r.Probe))})
	}
}

// costs is what a match at a unit pays for one more reading where it stands, and for a step beside the reading
// after it: ramp, settled light, and half a window of the meter on the average. usual is the one reading's where nobody has
// measured it.
func (c *Core) costs(u *unit, usual time.Duration) (sample, step time.Duration) {
	sample = usual
	if p := c.paces[u.Info.Probe]; p != nil && p.least > 0 {
		sample = p.least
	}
	settle := u.settle
	if lag := c.stepLag(u); lag > 0 { // what is wanting is put right
		settle = min(settle, lag)
	}
	return sample, settle + smallStep + sample/2
}
