package core

import (
	"math"
	"time"

	"trueup/colorcalc"
)

// Figures of light that falls on the probes of others.
const (
	// togetherAt is the spill's harm, of the tolerance, up to which lamps may be lit together:
	// added to a claim's doubt it is then hardly seen.
	togetherAt = 0.25
	// leastBounce is the colour, u'v' beside the lamp that is read, that spilt light is taken
	// to have at least: a lamp that is being matched changes its colour, and walls have one.
	leastBounce = 0.02
)

// spill is which lamp lights which probe beside its own: light as it was read with all
// others dark, by unit name and probe. What is not there was never read.
type spill map[string]map[string]colorcalc.XYZ

// put keeps the light of a unit on a probe.
func (s spill) put(unit, probe string, light colorcalc.XYZ) {
	if s[unit] == nil {
		s[unit] = map[string]colorcalc.XYZ{}
	}
	s[unit][probe] = light
}

// mayHideMore takes in that the background of a probe has fallen by as much: it may have gone before the survey read that probe, after the dark
// that was taken off. What lamps throw there is the most that they may, so it is more by that until a survey is made again.
func (s spill) mayHideMore(probe string, fell colorcalc.XYZ) {
	for _, lights := range s {
		if l, known := lights[probe]; known {
			lights[probe] = l.Add(fell)
		}
	}
}

// harm is how far, u'v', light of other lamps moves the colour that is read of a lamp with
// the light own: τ² = Σ (sⱼ dⱼ)², sⱼ the other's part of all light, dⱼ the difference of
// colour. Only the difference harms: light of the lamp's own colour only makes it brighter.
func harm(own colorcalc.XYZ, others []colorcalc.XYZ) float64 {
	if !(own.Y > 0) {
		return math.Inf(1)
	}
	sum := 0.0
	for _, o := range others {
		if !(o.Y > 0) {
			continue
		}
		t := o.Y / (own.Y + o.Y) * max(o.UV().Dist(own.UV()), leastBounce)
		sum += t * t
	}
	return math.Sqrt(sum)
}

// beside tells whether others may be lit while a unit is read whose light at its probe is
// own, and the harm they do to it. Others whose light on that probe nobody has read may not.
// For two lanes it is asked both ways.
func (s spill) beside(own colorcalc.XYZ, probe string, others []*unit, tolerance float64) (tau float64, ok bool) {
	var on []colorcalc.XYZ
	for _, o := range others {
		light, known := s[o.Info.Name][probe]
		if !known {
			return math.Inf(1), false
		}
		on = append(on, light)
	}
	tau = harm(own, on)
	return tau, tau <= togetherAt*tolerance
}

// slowest is the longest time that any lamp's light takes: one that goes out is waited for
// by whoever reads beside it.
func (c *Core) slowest() (d time.Duration) {
	for _, u := range c.units {
		d = max(d, u.settle)
	}
	return d
}
