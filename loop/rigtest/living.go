package rigtest

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"trueup/loop/session/core"
	"trueup/loop/stage"
)

// Living is a mixed scene to which people, faults, odd lamps and odd meters come, drawn by a number. Words name all of them.
func Living(n int) (c Class, words []string) {
	c, words = Mixed(n)
	c.Name = fmt.Sprintf("living %d", n)
	d := &draws{rand.New(rand.NewPCG(uint64(n), 7))}
	chance := d.naming(&words)
	livingLight(&c, d, chance)
	livingMeter(&c, chance)
	livingLamps(&c, chance)
	livingFaults(&c, chance)
	if levels := []core.CommonLevel{core.CommonEqual, core.CommonBrightest}; chance(0.15, "one level for all") {
		c.Common = levels[d.IntN(len(levels))]
	}
	return c, words
}

// livingLight draws what people do, and how the light of the room lives.
func livingLight(c *Class, d *draws, chance func(float64, string) bool) {
	switch {
	case chance(0.2, "somebody's lamp, once"):
		c.Somebody = somebody{1, 10 * time.Second, 40 * time.Second, d.between(0.03, 0.3)}
	case chance(0.15, "somebody's lamp, on and off"):
		c.Somebody = somebody{always, 15 * time.Second, 40 * time.Second, d.between(0.03, 0.3)}
	case chance(0.2, "people walk through the beams"):
		c.Passer = d.seconds(30, 90)
	}
	steady := c.Ambient == (stage.AmbientSpec{}) && !c.StepIn
	switch {
	case c.Background > 0 && steady && chance(0.3, "clouds"):
		c.Background = min(c.Background, 0.1)
		c.Ambient = stage.AmbientSpec{Swing: d.between(0.05, 0.25), SwingPeriod: d.seconds(10, 60)}
	case c.Background > 0 && steady && chance(0.15, "goes out"):
		c.GoesOut = true
	case c.Background == 0 && chance(0.15, "pitch dark"):
		c.Pitch = true
	case c.Background == 0 && chance(0.15, "a light that sweeps"):
		c.Sweeps = d.between(0.001, 0.006)
	}
}

// livingMeter draws how meters mean, and what they read near their own dark.
func livingMeter(c *Class, chance func(float64, string) bool) {
	before := c.Meter
	three, floor, ranges := chance(0.15, "means three"), chance(0.15, "floor"), chance(0.15, "ranges")
	c.Meter = func(m *stage.MeterSpec, d *draws) {
		before(m, d)
		if three {
			meansThree(m, d)
		}
		if floor {
			m.Floor = 0.01
		}
		if ranges {
			m.Ranges = []float64{d.between(3, 12), d.between(30, 90), d.between(300, 700)}
		}
	}
}

// livingLamps draws what lamps do that no profile says.
func livingLamps(c *Class, chance func(float64, string) bool) {
	var odd []func(l *lampPlan, d *draws)
	some := func(p float64, word string, do func(l *lampPlan, d *draws)) bool {
		yes := chance(p, word)
		if yes {
			odd = append(odd, do)
		}
		return yes
	}
	some(0.3, "lamps of unlike brightness", dims)
	some(0.15, "emitters that droop", func(l *lampPlan, _ *draws) { l.droopsMore() })
	some(0.15, "a slow one", func(l *lampPlan, d *draws) {
		if d.IntN(5) == 0 {
			l.kind.Response, l.known = d.seconds(0.3, 1.5), false
		}
	})
	some(0.12, "limiters", func(l *lampPlan, d *draws) {
		if len(l.kind.Emitters) > 0 {
			l.kind.Limit = d.between(0.25, 0.6)
		}
	})
	some(0.1, "pulses", func(l *lampPlan, d *draws) { l.kind.Quirks.PWM = d.between(200, 900) })
	if some(0.12, "some set themselves", func(l *lampPlan, d *draws) {
		if d.IntN(3) == 0 {
			calibrates(l, d)
		}
	}) {
		c.Watch = watched
	}
	before := c.Lamp
	c.Lamp = func(l *lampPlan, d *draws) {
		before(l, d)
		for _, do := range odd {
			do(l, d)
		}
	}
}

// livingFaults spoils some lamps.
func livingFaults(c *Class, chance func(float64, string) bool) {
	c.Cause = "dead emitter, not answering, no light, swapped, sets itself"
	if !chance(0.4, "faults") {
		return
	}
	before := c.Lamp
	c.Lamp = func(l *lampPlan, d *draws) {
		before(l, d)
		if l.spoilt || d.IntN(8) > 0 {
			return
		}
		switch n := len(l.kind.Emitters); {
		case n < 3 || d.IntN(3) == 0:
			l.deaf = true
		case d.IntN(2) == 0:
			l.kind.Quirks.Gain = gains(n, d.IntN(n), 0)
		default:
			a, b := 0, 1+d.IntN(len(l.channels)-1)
			l.channels = slices.Clone(l.channels)
			l.channels[a], l.channels[b] = l.channels[b], l.channels[a]
			l.swapped = true
		}
		l.spoilt = true
	}
}
