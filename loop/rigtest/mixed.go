package rigtest

import (
	"fmt"
	"math/rand/v2"
	"time"

	"trueup/loop/stage"
)

// Mixed is a scene in which several harsh things come together, drawn by a number: what each of them does alone the other classes
// show. Words name them.
func Mixed(n int) (c Class, words []string) {
	d := &draws{rand.New(rand.NewPCG(uint64(n), 2))}
	chance := d.naming(&words)
	c = Class{Name: fmt.Sprintf("mixed %d", n), Lamps: 4 + d.IntN(12), Probes: 1 + d.IntN(6), Lanes: 1 + d.IntN(6)}
	if chance(0.25, "8 bit") {
		c.Bits = 8
	}
	if chance(0.3, "alike") {
		c.Alike = 1 + d.IntN(8)
	}
	if chance(0.5, "ambient") {
		c.Background = []float64{0.1, 0.3, 0.3, 0.7}[d.IntN(4)]
		switch d.IntN(4) {
		case 0:
			c.Ambient = walk
		case 1:
			c.Ambient = drift
		case 2:
			c.StepIn = true
		}
	}
	mixedReference(&c, d, chance)
	if c.Probes > 1 && chance(0.5, "spill") {
		c.Spill, c.Bounce, c.Uneven, c.Near = []float64{0.005, 0.03, 0.1}[d.IntN(3)], 0.02, 0.5, d.IntN(2) == 0
	}
	mixedLamps(&c, d, chance)
	mixedMeter(&c, d, chance)
	return c, words
}

// naming draws whether something is so, by its probability, and adds the word for it to the words if it is.
func (d *draws) naming(words *[]string) (chance func(p float64, word string) bool) {
	return func(p float64, word string) bool {
		yes := d.Float64() < p
		if yes {
			*words = append(*words, word)
		}
		return yes
	}
}

// mixedReference draws what becomes of the reference.
func mixedReference(c *Class, d *draws, chance func(float64, string) bool) {
	switch {
	case chance(0.3, "reference warms"):
		c.Reference = func(d *draws) stage.Change {
			return stage.Change{Warming: d.towards(0.0035), WarmTime: d.seconds(60, 900)}
		}
	case chance(0.2, "reference's gel taken off"):
		c.Reference = func(d *draws) stage.Change {
			return stage.Change{Gel: d.seconds(10, 120), GelMoved: d.towards(d.between(0.002, 0.02)), GelFactor: d.between(1.05, 1.5)}
		}
	}
	c.OwnLamp = chance(0.25, "reference beside others")
}

// mixedLamps draws how lamps answer, and what their curves do.
func mixedLamps(c *Class, d *draws, chance func(float64, string) bool) {
	response := time.Duration(0)
	switch {
	case chance(0.2, "slow lamps"):
		response = d.seconds(0.05, 0.6)
	case chance(0.25, "lamps that answer late"):
		response = d.seconds(0.01, 0.15)
	}
	unknown := response > 0 || chance(0.5, "dead times not stated")
	wave, play := 0.0, 0.0
	if chance(0.17, "wavy curves") {
		wave = d.between(0.002, 0.008)
	}
	if chance(0.12, "hysteresis") {
		play = d.between(0.003, 0.01)
	}
	c.Lamp = func(l *lampPlan, _ *draws) {
		if response > 0 {
			l.kind.Response = response
		}
		l.known = l.known && !unknown
		l.kind.Quirks.Wave, l.kind.Quirks.Play = wave, play
	}
}

// mixedMeter draws what is odd about the meters.
func mixedMeter(c *Class, d *draws, chance func(float64, string) bool) {
	if chance(0.17, "hands") {
		c.Hand = 15 * time.Second
	}
	c.FirstOdd = chance(0.12, "first reading an outlier")
	outliers, window := 0.0, time.Duration(0)
	if chance(0.25, "outliers") {
		outliers = 0.03
	}
	if chance(0.33, "another window") {
		window = d.seconds(0.03, 0.4)
	}
	c.Meter = func(m *stage.MeterSpec, _ *draws) {
		if m.Outlier = outliers; window > 0 {
			m.Integration = window
		}
	}
}
