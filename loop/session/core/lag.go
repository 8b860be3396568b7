package core

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/loop"
)

// A slow lamp follows its setting on an exponential, whose time constant the level shows while the lamp fades in (loop.LagOf). What is left of
// its way at a moment is known then, so its readings need not wait for four time constants: what is wanting is put right as in any reading
// that begins early (early.go). A dimmer may be slow and the colour behind it fast. So a step of a lamp that is lit is
// read on its way first, while it is waited for anyway, and only where that shows that the colour lags as the level does are later steps read early.

// Figures of what lags.
const (
	lagDoubt   = 0.1  // of a time constant, that it may be wrong by
	lagShows   = 2.0  // of evidence, ln, over a colour that follows at once
	lagGlimpse = 0.35 // time constants after the arrival of a step, that a reading of its way begins
	lagGrain   = 40 * time.Millisecond
)

// lagging is what is known of how lamps of a type and feed lag.
type lagging struct {
	taus     []time.Duration // that fades have shown, in order
	evidence float64         // ln, of steps that lagged as the level does over steps that did not
	unlike   bool            // a step was not where the lag of the level has it
}

// lagOf is the time constant of a unit's type and feed; 0: none is known.
func (c *Core) lagOf(u *unit) time.Duration {
	if l := c.lags[u.SettleKey()]; l != nil && len(l.taus) > 0 {
		return l.taus[len(l.taus)/2]
	}
	return 0
}

// stepLag is lagOf where steps of lit lamps were seen to lag so.
func (c *Core) stepLag(u *unit) time.Duration {
	if l := c.lags[u.SettleKey()]; l != nil && !l.unlike && l.evidence >= lagShows {
		return c.lagOf(u)
	}
	return 0
}

// lagged takes in the lag that a fade has shown.
func (c *Core) lagged(key string, lag loop.Lag) {
	if lag.Rests() <= mostAnswer {
		return
	}
	l := c.lags[key]
	if l == nil {
		l = new(lagging)
		c.lags[key] = l
	}
	if lag.Late > mostAnswer { // what is left of its way is not known by the time constant alone
		l.unlike = true
		return
	}
	l.taus = append(l.taus, lag.Tau)
	slices.Sort(l.taus)
}

// mayLag tells whether the profile of a unit states so long a dead time that its light may lag, and no fade of its type was followed yet.
func (c *Core) mayLag(u *unit) bool {
	return u.SettleKnown && u.settle >= slowGlow && c.cfg.Work == Match && !c.cfg.Plan.HandMeter && !c.cfg.Plan.KeepLit && c.lags[u.SettleKey()] == nil
}

// restsLonger has all units of a type and feed waited for longer than their profile states, where a fade has shown that they lag so.
func (c *Core) restsLonger(u *unit, rests time.Duration) {
	if float64(rests) <= slowerBy*float64(u.settle) {
		return
	}
	for _, o := range c.units {
		if o.SettleKey() == u.SettleKey() {
			o.settle = max(o.settle, rests)
		}
	}
	c.enter(Entry{Kind: KindSettle, Fixture: u.Info.Name, Note: fmt.Sprintf("%s: light stands still %d ms after the output has arrived, later than its profile states", u.Info.Profile, rests/time.Millisecond)})
}

// showsLag tells whether a reading of the way of a step would show whether the colour of a unit lags as its level does.
func (c *Core) showsLag(u *unit) bool {
	l := c.lags[u.SettleKey()]
	return l != nil && len(l.taus) > 0 && !l.unlike && l.evidence < lagShows
}

// lagShowed takes in which part of its way a step still had before it in a glimpse, and the standard deviation of that.
func (c *Core) lagShowed(u *unit, k *glimpse, part, sd float64) {
	l := c.lags[u.SettleKey()]
	mean, off := u.fading.up.left(k.from, k.to)
	sd = math.Hypot(sd, off)
	if math.Abs(part-mean) > 3.5*sd {
		l.unlike = true
		return
	}
	l.evidence += (part*part - (part-mean)*(part-mean)) / (2 * sd * sd)
}

// lagLeft is the part of its way that a light with a time constant has before it at a moment, where what it follows
// goes in a straight line that ends at another: y(s) = (s - τ(1 - e^(-s/τ)))/long from the beginning of the line on, and from its
// end on what is left falls with e^(-t/τ).
func lagLeft(at, end, long, tau time.Duration) float64 {
	t, x, l := tau.Seconds(), (at - end).Seconds(), max(long, frame).Seconds()
	switch s := x + l; {
	case s <= 0:
		return 1
	case x < 0:
		return 1 - (s+t*math.Expm1(-s/t))/l
	default:
		return -t / l * math.Expm1(-l/t) * math.Exp(-x/t)
	}
}

// lagMean is the mean of lagLeft between two moments.
func lagMean(from, to, end, long, tau time.Duration) (mean float64) {
	const parts = 8
	for i := range parts {
		mean += lagLeft(from+(to-from)*time.Duration(2*i+1)/(2*parts), end, long, tau) / parts
	}
	return mean
}

// upOf is the ramp of a unit that has arrived at a moment; long is what its fade or step took.
func (c *Core) upOf(u *unit, arrived, long time.Duration) ramp {
	r := ramp{soonest: arrived + c.soonestOf(u), latest: arrived + u.settle, long: long}
	if r.lag = c.lagOf(u); r.lag > 0 {
		r.soonest, r.latest = arrived, arrived+mostAnswer
	}
	return r
}
