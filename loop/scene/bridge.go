package scene

import (
	"time"

	"trueup/colorcalc"
)

// Mark is a background as it was believed at a moment.
type Mark struct {
	mean [3]float64
	cov  [9]float64
	at   time.Duration
}

// Mark keeps the background as it is believed now, at the end of a passage.
func (b *Background) Mark() Mark { return Mark{b.mean, b.cov, b.at} }

// At is the end of the passage.
func (m Mark) At() time.Duration { return m.at }

// Between is where the background was at a moment between two passages, and the
// standard deviation that this gives to the light of a lamp read then (as Share). Given both
// ends a random walk lies on the straight line between them, with the variance of a
// Brownian bridge: rate² (t - t0)(t1 - t)/(t1 - t0), beside that of the ends.
func (b *Background) Between(before Mark, at time.Duration, light colorcalc.XYZ) (mean colorcalc.XYZ, sd float64) {
	span := (b.at - before.at).Seconds()
	if !(span > 0) {
		return b.Mean(), shareOf(&b.cov, light)
	}
	f := min(max((at-before.at).Seconds()/span, 0), 1)
	var m [3]float64
	var p [9]float64
	for i := range m {
		m[i] = before.mean[i] + f*(b.mean[i]-before.mean[i])
	}
	for i := range p {
		p[i] = (1-f)*(1-f)*before.cov[i] + f*f*b.cov[i]
	}
	mean = colorcalc.XYZ{X: m[0], Y: m[1], Z: m[2]}
	k := f * (1 - f) * span
	addWalk(&p, mean, b.level.square()*k, b.colour.square()*k)
	b.sweep.add(&p, 0, k)
	return mean, shareOf(&p, light)
}
