package scene

import (
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve/num"
)

// Noise is that of one reading: a standard deviation for each axis of u'v', and of ln Y.
type Noise struct{ UV, LnY float64 }

// darkNoise is what any meter adds near its own dark, as a part of the background's
// level: it keeps a perfect meter from being believed wholly.
const darkNoise = 0.002

// Background is the light at one probe with the lamps out: a mean of X, Y, Z and its
// 3 x 3 covariance, which grows with the time since it was read.
type Background struct {
	mean   [3]float64
	cov    [9]float64
	at     time.Duration // of mean and cov
	read   time.Duration // end of the last passage
	level  rates
	colour rates
	sweep  sweep
}

// NewBackground starts from the mean of a first passage of n readings that ended at a
// moment.
func NewBackground(mean colorcalc.XYZ, n int, noise Noise, at time.Duration) *Background {
	b := &Background{mean: [3]float64{mean.X, mean.Y, mean.Z}, at: at, read: at, level: levelRates(), colour: colourRates()}
	r := readingCov(mean, noise)
	for i := range r {
		b.cov[i] = r[i] / float64(n)
	}
	return b
}

// Mean is the background at present.
func (b *Background) Mean() colorcalc.XYZ {
	return colorcalc.XYZ{X: b.mean[0], Y: b.mean[1], Z: b.mean[2]}
}

// Advance lets time pass: the covariance grows by
// P += E[ρ²] dt B Bᵀ + E[χ²] dt J Jᵀ, with J = ∂(X,Y,Z)/∂(u',v') at B, and by what a light that sweeps may have gone.
func (b *Background) Advance(now time.Duration) {
	if now <= b.at {
		return
	}
	b.wander(&b.cov, now)
	b.at = now
}

// Passage takes in readings of the dark probe that follow one another closely, one time each. Their
// mean teaches the rates: its innovation against what each of them foretold.
func (b *Background) Passage(z []colorcalc.XYZ, noise Noise, at []time.Duration) {
	if len(z) == 0 {
		return
	}
	n, mean := float64(len(z)), MeanOf(z)
	r := readingCov(b.Mean(), noise)
	if dt := (at[0] - b.read).Seconds(); dt > 0 {
		of := r // of the mean
		for i := range of {
			of[i] /= n
		}
		before := b.cov // without what passed since, it is that of the last passage at most
		b.sweep.add(&before, 0, dt)
		b.level.learn(func(rate float64) float64 {
			return b.likelihood(mean, &before, &of, rate*rate*dt, b.colour.square()*dt)
		})
		b.colour.learn(func(rate float64) float64 { return b.likelihood(mean, &before, &of, b.level.square()*dt, rate*rate*dt) })
	}
	for i, c := range z {
		b.Advance(at[i])
		b.update(c, &r)
		b.at, b.read = max(b.at, at[i]), at[i]
	}
}

// MeanOf is the mean of one light or more.
func MeanOf(z []colorcalc.XYZ) (sum colorcalc.XYZ) {
	for _, c := range z {
		sum = sum.Add(c)
	}
	return sum.Scale(1 / float64(len(z)))
}

// After is the share (see Share) that a passage would leave to a lamp now.
func (b *Background) After(z []colorcalc.XYZ, noise Noise, at []time.Duration, light colorcalc.XYZ, now time.Duration) float64 {
	then := *b
	then.level, then.colour = b.level.clone(), b.colour.clone()
	then.Passage(z, noise, at)
	return then.Share(light, now)
}

// likelihood is ln N(z - B; 0, P + walk + R).
func (b *Background) likelihood(z colorcalc.XYZ, p, r *[9]float64, level, colour float64) float64 {
	s := *p
	addWalk(&s, b.Mean(), level, colour)
	for i := range s {
		s[i] += r[i]
	}
	inv, ok := num.Invert3(&s)
	if !ok {
		return math.Inf(-1)
	}
	e := [3]float64{z.X - b.mean[0], z.Y - b.mean[1], z.Z - b.mean[2]}
	q := 0.0
	for i := range 3 {
		for j := range 3 {
			q += e[i] * inv[3*i+j] * e[j]
		}
	}
	return -0.5 * (q + math.Log(num.Det3(&s)))
}

// update is the Kalman step: S = P + R, K = P S⁻¹, B += K (z - B), P -= K P.
func (b *Background) update(z colorcalc.XYZ, r *[9]float64) {
	s := b.cov
	for i := range s {
		s[i] += r[i]
	}
	inv, ok := num.Invert3(&s)
	if !ok {
		return
	}
	k := mul(&b.cov, &inv)
	e := [3]float64{z.X - b.mean[0], z.Y - b.mean[1], z.Z - b.mean[2]}
	for i := range 3 {
		for j := range 3 {
			b.mean[i] += k[3*i+j] * e[j]
		}
	}
	kp := mul(&k, &b.cov)
	for i := range b.cov {
		b.cov[i] -= kp[i]
	}
	for i := range 3 { // symmetric, in spite of rounding
		for j := range i {
			m := (b.cov[3*i+j] + b.cov[3*j+i]) / 2
			b.cov[3*i+j], b.cov[3*j+i] = m, m
		}
	}
}

// Share is the standard deviation, for each axis of u'v', that the background's
// uncertainty at a moment gives to a lamp whose own light is known by readings that it
// is taken off: √(tr(J P Jᵀ)/2), J = ∂(u',v')/∂(X,Y,Z) at the lamp's light. It is common to all
// of them.
func (b *Background) Share(light colorcalc.XYZ, at time.Duration) float64 {
	p := b.cov
	b.wander(&p, at)
	return shareOf(&p, light)
}

func shareOf(p *[9]float64, light colorcalc.XYZ) float64 {
	d := light.X + 15*light.Y + 3*light.Z
	if !(d > 0) {
		return math.Inf(1)
	}
	u, v := 4*light.X/d, 9*light.Y/d
	j := [2][3]float64{{(4 - u) / d, -15 * u / d, -3 * u / d}, {-v / d, (9 - 15*v) / d, -3 * v / d}}
	tr := 0.0
	for a := range 2 {
		for i := range 3 {
			for k := range 3 {
				tr += j[a][i] * p[3*i+k] * j[a][k]
			}
		}
	}
	return math.Sqrt(max(tr/2, 0))
}

// readingCov is R = J diag(σ², σ², σ_Y²) Jᵀ + dark² I, J = ∂(X,Y,Z)/∂(u',v',ln Y) at
// the light. Never independent noise in X, Y and Z: a meter's noise in u'v' is
// strongly correlated there.
func readingCov(at colorcalc.XYZ, n Noise) (r [9]float64) {
	j := chromaSlope(at)
	y := [3]float64{at.X, at.Y, at.Z}
	dark := darkNoise * at.Y
	for a := range 3 {
		for b := range 3 {
			r[3*a+b] = n.UV*n.UV*(j[0][a]*j[0][b]+j[1][a]*j[1][b]) + n.LnY*n.LnY*y[a]*y[b]
		}
		r[4*a] += dark*dark + 1e-12
	}
	return r
}

// addWalk adds what a time of wandering adds: level and colour are variances.
func addWalk(p *[9]float64, at colorcalc.XYZ, level, colour float64) {
	j := chromaSlope(at)
	y := [3]float64{at.X, at.Y, at.Z}
	for a := range 3 {
		for b := range 3 {
			p[3*a+b] += level*y[a]*y[b] + colour*(j[0][a]*j[0][b]+j[1][a]*j[1][b])
		}
	}
}

// chromaSlope is ∂(X,Y,Z)/∂u' and ∂(X,Y,Z)/∂v' at constant Y:
// X = 9u'Y/(4v'), Z = (12 - 3u' - 20v')Y/(4v') (CIE 15:2018, 8.2.1, solved for X and Z).
func chromaSlope(at colorcalc.XYZ) (j [2][3]float64) {
	uv := at.UV()
	if !(uv.V > 1e-6) || !(at.Y > 0) {
		return j
	}
	y, v := at.Y, uv.V
	j[0] = [3]float64{9 * y / (4 * v), 0, -3 * y / (4 * v)}
	j[1] = [3]float64{-9 * uv.U * y / (4 * v * v), 0, -(12 - 3*uv.U) * y / (4 * v * v)}
	return j
}

func mul(a, b *[9]float64) (c [9]float64) {
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				c[3*i+j] += a[3*i+k] * b[3*k+j]
			}
		}
	}
	return c
}
