package core

import (
	"fmt"
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// A dead time is measured on a fade from the dark, whose last part is slow. A step of a lit lamp comes at once, and shows what a fade hides: a
// meter that gives the mean of its last readings, or a lamp whose colour lags and whose level does not. So the first large step of each type and
// feed is read until two readings in a row agree along its way, and only the last of them counts. Where the light still moved the type is waited
// for longer, and so are others by the same probe that were not looked at yet: it may be the meter.

// Figures of the look at a step.
const (
	auditStep  = 12.0 // times the meter's noise, that it goes at the least
	auditMoves = 2.5  // standard deviations of the difference of two readings: the light still moves
	mostAudit  = 12   // readings of one step that are set aside: the next one counts, whatever it shows

	mostMemory = 1500 * time.Millisecond // of a meter: what moves for longer is the lamp
)

// audit is the look at the first large step of a type.
type audit struct {
	arrived time.Duration // of the step
	last    colorcalc.UV  // read
	waits   time.Duration // until then light still moved; 0: it did not
	n       int
}

// audits tells whether a reading after a step is to be held against another one before it counts.
func (m *matching) audits(c *Core, u *unit, r *Reading, net *solve.Reading) bool {
	if !c.auditDue(u) {
		return false
	}
	step := u.fading.step
	a := &m.audit
	if a.arrived != u.at.At {
		*a = audit{arrived: u.at.At}
	}
	began := r.At - r.Integration - u.at.At
	moved := 0.0
	if a.n > 0 {
		moved = along(step, a.last, net.UV)
	}
	still := a.n > 0 && moved > auditMoves*math.Sqrt2*net.SigmaUV
	if still {
		a.waits = began
	}
	if a.n > 0 && !still || a.n == mostAudit {
		c.lookedAtStep(u, a, net.UV)
		return false
	}
	a.n, a.last = a.n+1, net.UV
	c.setAside(u, r, "after a large step it is read once more, to see that its light stands")
	return true
}

// waitsFor has a unit waited for so long at the least, whatever its type is found to take.
func (u *unit) waitsFor(least time.Duration) {
	u.least = max(u.least, least)
	u.settle = max(u.settle, u.least)
}

// along is how far a light has gone between two readings in the direction of a step, u'v'; NaN for a step that goes nowhere.
func along(step, from, to colorcalc.UV) float64 {
	return ((to.U-from.U)*step.U + (to.V-from.V)*step.V) / step.Dist(colorcalc.UV{})
}

// auditDue tells whether the step that a unit has taken is the first large one of its type.
func (c *Core) auditDue(u *unit) bool {
	key := u.SettleKey()
	return key != "" && !c.audited[key] && c.cfg.Work == Match && !c.cfg.Plan.HandMeter && u.Head >= 0 &&
		u.fading.step.Dist(colorcalc.UV{}) >= auditStep*c.noiseAt(u.Info.Probe).sigmaUV()
}

// lookedAtStep takes in what the look has shown. A step that the light did not take half of shows nothing: it may be another's.
func (c *Core) lookedAtStep(u *unit, a *audit, now colorcalc.UV) {
	key := u.SettleKey()
	if l := u.tally.last; l == nil || now.Dist(l.UV) < u.fading.step.Dist(colorcalc.UV{})/2 {
		return
	}
	c.audited[key] = true
	if a.waits <= u.settle {
		return
	}
	for _, o := range c.units {
		if o.SettleKey() == key || o.Info.Probe == u.Info.Probe && a.waits <= mostMemory && !c.audited[o.SettleKey()] {
			o.waitsFor(a.waits)
		}
	}
	if _, ok := c.deadTimes[key]; ok {
		c.settlesIn(key, max(c.deadTimes[key], a.waits)) // for later runs too
	}
	c.enter(Entry{Kind: KindSettle, Fixture: u.Info.Name, Note: fmt.Sprintf("%s: after a step its light still moved %d ms after the output had arrived: it is waited for so long from now on", u.Info.Profile, a.waits/time.Millisecond)})
}
