package scene

import (
	"math"
	"time"

	"trueup/colorcalc"
)

// A light that sweeps, as a moving one next door, goes up and down and through every hue within seconds, again and again. A walk scaled by what it
// is now foretells too little of it: at its trough it hardly seems to go at all. What it did of late it may do again: once it was seen to sweep,
// the doubt grows within seconds to the spread that its readings in the dark had of late, and no further. When it stands again those of the time
// when it moved grow too old to count.

// Figures of a light that sweeps.
const (
	sweepMemory = 2 * time.Minute // for which readings tell what it may do again
	sweepPart   = time.Second     // of a passage, whose mean counts once: one of hundreds of readings outweighs no other
	sweepSoon   = 3 * time.Second // between two parts that tell how fast it goes
	sweepFast   = 0.5             // seconds in which it goes from one place to any other at the least,
	sweepSlow   = 12.0            // and at the most
	leastSwept  = 2               // parts that tell a spread
	keptSwept   = 12              // that are kept however old they are: a probe may be looked at seldom
)

// sweep is how a background has gone of late.
type sweep struct {
	parts []part
	seen  time.Duration // when it was seen to sweep last
	since bool          // it was
	cov   [9]float64    // spread of the parts
	time  float64       // seconds in which it goes as far as that, about a sixth of a turn
}

// part is the mean of some readings that followed one another closely, and the moment of the last of them.
type part struct {
	light colorcalc.XYZ
	at    time.Duration
}

// Followed keeps how the light was in a passage, one time for each reading. Whether it was seen to sweep meanwhile the caller tells.
func (b *Background) Followed(z []colorcalc.XYZ, at []time.Duration, sweeps bool) {
	if len(z) == 0 {
		return
	}
	s := &b.sweep
	now := at[len(at)-1]
	var kept []part
	for i, p := range s.parts {
		if now-p.at <= sweepMemory || i >= len(s.parts)-keptSwept {
			kept = append(kept, p)
		}
	}
	for from := 0; from < len(z); {
		to := from + 1
		for to < len(z) && at[to]-at[from] < sweepPart {
			to++
		}
		kept = append(kept, part{MeanOf(z[from:to]), at[to-1]})
		from = to
	}
	s.parts = kept
	if sweeps {
		s.seen, s.since = now, true
	}
	s.since = s.since && now-s.seen <= sweepMemory
	s.cov = spreadOf(kept)
	s.time = timeOf(kept, s.cov[0]+s.cov[4]+s.cov[8])
}

// Jumped moves what is kept of how the light went by what a jump has added to it, or taken from it: it goes on around where it is now as it went before, and the way
// of the jump is no part of that.
func (b *Background) Jumped(by colorcalc.XYZ) {
	parts := make([]part, len(b.sweep.parts))
	for i, p := range b.sweep.parts {
		parts[i] = part{p.light.Add(by), p.at}
	}
	b.sweep.parts = parts
}

// Sweeps tells whether the light was seen to sweep of late.
func (b *Background) Sweeps() bool { return b.sweep.since }

// spreadOf is the covariance of parts; none where they are too few to tell one.
func spreadOf(parts []part) (cov [9]float64) {
	n := float64(len(parts))
	if len(parts) < leastSwept {
		return cov
	}
	var all []colorcalc.XYZ
	for _, p := range parts {
		all = append(all, p.light)
	}
	mean := MeanOf(all)
	for _, c := range all {
		d := c.Sub(mean)
		e := [3]float64{d.X, d.Y, d.Z}
		for i := range 3 {
			for j := range 3 {
				cov[3*i+j] += e[i] * e[j] / (n - 1)
			}
		}
	}
	return cov
}

// timeOf is the time in which a light of this spread goes from one place to another: from how far parts that followed one another soon lie apart.
func timeOf(parts []part, spread float64) float64 {
	var square, far float64
	for i := 1; i < len(parts); i++ {
		dt := parts[i].at - parts[i-1].at
		if dt > sweepSoon {
			continue
		}
		d := Size(parts[i].light.Sub(parts[i-1].light))
		square, far = square+dt.Seconds()*dt.Seconds(), far+d*d
	}
	if !(far > 0) || !(spread > 0) {
		return sweepFast
	}
	return min(max(math.Sqrt(spread*square/far), sweepFast), sweepSlow)
}

// add adds what the light may have gone by sweeping, from some seconds after it was read to some more.
func (s *sweep) add(p *[9]float64, from, to float64) {
	if !s.since {
		return
	}
	k := s.gone(max(to, 0)) - s.gone(max(from, 0))
	for i := range p {
		p[i] += k * s.cov[i]
	}
}

// gone is how far the light goes in some seconds, as a part of its spread, squared: at first evenly, at length as far as two moments of it lie apart.
func (s *sweep) gone(dt float64) float64 {
	return 2 * (1 - math.Exp(-dt*dt/(2*s.time*s.time)))
}

// wander adds to a covariance of the background's present moment what passes until another one.
func (b *Background) wander(p *[9]float64, now time.Duration) {
	if dt := (now - b.at).Seconds(); dt > 0 {
		addWalk(p, b.Mean(), b.level.square()*dt, b.colour.square()*dt)
		b.sweep.add(p, (b.at - b.read).Seconds(), (now - b.read).Seconds())
	}
}
