package core

import (
	"math"
	"slices"
	"time"

	"trueup/loop/scene"
)

// Figures of a background that swings, as under clouds that pass.
const (
	swingFor   = 4 * time.Second // is looked at for so long
	swingPart  = 0.15            // of what it has gone since the last passage: that much of it is seen meanwhile
	swingHarm  = 3.0             // tolerances: one that moves the lamp read last by more is too much to work beside
	swingLast  = time.Second     // the end of it tells where it is now
	leastSwing = 0.1             // lux that it goes at the least where no lamp was read yet: a meter near its own dark, which means some windows, makes that of nothing
)

// jumpsSwing tells whether what looks like a jump since the last passage is a light that swings: it is seen to, without a leap, and does not
// move the lamp read last too far.
func (d *dark) jumpsSwing(c *Core, got []Reading, jumps []scene.Jump) bool {
	if len(got) == 0 || got[len(got)-1].At-got[0].At < swingFor || !(d.light.Y > 0) {
		return false
	}
	far := 0.0
	for _, j := range jumps {
		far = max(far, math.Abs(j.By.Y))
		if effect(c.ref, d.light, j.By) > swingHarm*c.cfg.Plan.Tolerance {
			return false
		}
	}
	return d.swing(c, got, swingPart*far)
}

// swing tells whether the background swings while it is read, by least lux or more. How a lamp glows on that was put out is no part of it.
func (d *dark) swing(c *Core, got []Reading, least float64) bool {
	lux := levels(d.afterGlow(c, got))
	return len(lux) > 0 && scene.Swings(lux, median(lux)*c.noiseAt(d.probe).sigmaLnY(), least)
}

// levels are those of the readings that have one, lux.
func levels(got []Reading) (lux []float64) {
	for _, r := range lighted(got) {
		lux = append(lux, r.Y)
	}
	return lux
}

// wanders takes in how the background has swung while it was read, if it did: how well it is known between the passages follows from that.
func (d *dark) wanders(c *Core, got []Reading) {
	d.swung = 0
	if !d.swing(c, got, 0) {
		return
	}
	got = d.afterGlow(c, got)
	lux := levels(got)
	swung := slices.Max(lux) - slices.Min(lux)
	if d.light.Y > 0 && effect(c.ref, d.light, d.Mean().Scale(swung/max(d.Mean().Y, swung))) > slightDark*c.cfg.Plan.Tolerance {
		d.swings = true // else it is nothing to speak of
	}
	if got[len(got)-1].At-got[0].At >= swingFor {
		d.swung = swung
	}
	z, at := timed(got)
	d.Wander(z, c.meter(d.probe), at)
}

// end are the readings of a long passage that tell where a light that swings is now.
func end(got []Reading) (last []Reading) {
	for _, r := range got {
		if r.At > got[len(got)-1].At-swingLast {
			last = append(last, r)
		}
	}
	return last
}

// sweeps tells whether what looks like jumps in one passage is one light that goes on moving through its hues: it is never done jumping, and
// it does not blink. One that goes fast enough makes few: no two readings of it agree.
func (d *dark) sweeps(c *Core, got []Reading, jumps []scene.Jump) bool {
	if len(got) == 0 || got[len(got)-1].At-got[0].At < swingFor || d.alternates(c, d.harmful(c, jumps)) {
		return false
	}
	return d.hueSwings(c, withoutGlow(got, c.slowest()))
}

// follow keeps how the background went in a passage, and whether its hue was seen to sweep. One that keeps it wanders as a sky does.
func (d *dark) follow(c *Core, got []Reading) {
	got = withoutGlow(got, c.slowest())
	z, at := timed(got)
	d.Followed(z, at, d.hueSwings(c, got))
}

// hueSwings tells whether the hue of the background has swung while it was read, from the first to the last, by more than is nothing to speak of. A sky
// keeps its colour for so long, and a lamp that goes out or is lit meanwhile stands before or after.
func (d *dark) hueSwings(c *Core, got []Reading) bool {
	var u, v []float64
	for _, r := range got {
		u, v = append(u, r.UV.U), append(v, r.UV.V)
	}
	sd, half := c.noiseAt(d.probe).sigmaUV(), len(got)/2
	goes := func(from, to int) bool { return scene.Swings(u[from:to], sd, 0) || scene.Swings(v[from:to], sd, 0) }
	if !goes(0, len(got)-half) || !goes(half, len(got)) {
		return false
	}
	first, last := got[0].XYZ(), got[len(got)-1].XYZ()
	if !(d.light.Y > 0) {
		return slices.ContainsFunc(got, func(r Reading) bool { return scene.Size(r.XYZ().Sub(first)) > leastSwing })
	}
	return effect(c.ref, d.light, last.Sub(first)) > slightDark*c.cfg.Plan.Tolerance
}
