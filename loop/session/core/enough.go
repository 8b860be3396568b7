package core

import (
	"fmt"
	"math"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// Readings of one setting that a background may make necessary: past these it is said
// before the lamp is matched, with the light that would bring it down to solve.FairReadings.
const (
	manyReadings = 16
	leastTold    = 1 // lux: lamps below are of no interest
)

// moreLight is what gives a lamp more light beside a background.
const moreLight = "raise its level, move the probe nearer, or darken the room"

// readingsBeside is how many readings of one setting carry the tolerance with 95 % beside a
// background of share times the lamp's light: χ²σ²/tol² ((1+share)² + share²), χ² = colorcalc.Square95. The first
// term is the noise of lamp and background together, the second that of the dark reading that is taken off.
func readingsBeside(share, sigma, tolerance float64) float64 {
	k := colorcalc.Square95 * sigma * sigma / (tolerance * tolerance)
	return k * ((1+share)*(1+share) + share*share)
}

// lightBeside is the least light of a lamp with which n readings do beside a background, in
// the background's unit: readingsBeside solved for the share. Infinite where no light would do.
func lightBeside(background, n, sigma, tolerance float64) float64 {
	k := colorcalc.Square95 * sigma * sigma / (tolerance * tolerance)
	if n <= k {
		return math.Inf(1)
	}
	return background / ((math.Sqrt(2*n/k-1) - 1) / 2)
}

// leastLight says, of a background just read for the first time, which lamps it will make
// slow. Empty where that is none to speak of.
func (c *Core) leastLight(probe string, background colorcalc.XYZ) string {
	sigma, tol := c.noiseAt(probe).sigmaUV(), c.cfg.Plan.Tolerance
	many := lightBeside(background.Y, manyReadings, sigma, tol)
	if math.IsInf(many, 1) {
		return fmt.Sprintf("; with a scatter of %.4f a tolerance of %.4f takes more than %d readings a setting however much light a fixture gives: a longer integration, or a wider tolerance", sigma, tol, manyReadings)
	}
	if many < leastTold {
		return ""
	}
	return fmt.Sprintf("; a fixture that gives less than %.3g lux here will take more than %d readings a setting", many, manyReadings)
}

// slowBeside says at a lamp's first reading that the background will make it slow, and what light would do.
func (c *Core) slowBeside(u *unit, light float64) {
	d := c.background[u.Info.Probe]
	if d == nil || !(light > 0) {
		return
	}
	sigma, tol := c.noiseAt(u.Info.Probe).sigmaUV(), c.cfg.Plan.Tolerance
	share := d.Mean().Y / light
	n := readingsBeside(share, sigma, tol)
	many, fair := manyReadings, solve.FairReadings
	if c.cfg.Plan.HandMeter {
		many, fair = noisyTyped, fairTyped
	}
	if n <= float64(many) {
		return
	}
	note := fmt.Sprintf("the background is %.0f %% of the %.1f lux of %s at %s: a tolerance of %.4f will take about %.0f readings a setting", 100*share, light, u.Info.Name, atProbe(u.Info.Probe), tol, math.Ceil(n))
	if lux := lightBeside(d.Mean().Y, float64(fair), sigma, tol); !math.IsInf(lux, 1) {
		note += fmt.Sprintf("; with %.3g lux from it %d would do: %s", lux, fair, moreLight)
	} else {
		note += "; more light alone does not bring that down: a longer integration, or a wider tolerance"
	}
	c.enter(Entry{Kind: KindBackground, Fixture: u.Info.Name, Note: note})
}
