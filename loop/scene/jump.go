package scene

import (
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve/num"
)

// Off is how far a reading of the dark probe lies from what was to be expected at its
// moment: d² = eᵀ (P + walk + R)⁻¹ e, chi-squared with three degrees of freedom where nothing
// has jumped.
func (b *Background) Off(z colorcalc.XYZ, noise Noise, at time.Duration) float64 {
	s := b.cov
	b.wander(&s, at)
	r := readingCov(b.Mean(), noise)
	for i := range s {
		s[i] += r[i]
	}
	inv, ok := num.Invert3(&s)
	if !ok {
		return math.Inf(1)
	}
	e := [3]float64{z.X - b.mean[0], z.Y - b.mean[1], z.Z - b.mean[2]}
	q := 0.0
	for i := range 3 {
		for j := range 3 {
			q += e[i] * inv[3*i+j] * e[j]
		}
	}
	return q
}

// Leap forgets where the background was: it has jumped, and n readings since have this
// mean. What is known of its wandering stays: a jump says nothing of that.
func (b *Background) Leap(mean colorcalc.XYZ, n int, noise Noise, at time.Duration) {
	fresh := NewBackground(mean, n, noise, at)
	fresh.level, fresh.colour, fresh.sweep = b.level, b.colour, b.sweep
	*b = *fresh
}

// Jump is a change of the background from one reading to the next.
type Jump struct {
	Since time.Duration // of the last reading before it, which may lie far back
	At    time.Duration // of the first reading after it
	By    colorcalc.XYZ
}

// Figures of a light that goes on and off.
const (
	blinkWithin = 5 * time.Minute // from one jump to the next: what is switched less often is told by the passages
	blinkBack   = 0.35            // of a jump: what may be left of it when the next has taken it back
)

// Back tells whether a jump takes the one before it back, within minutes.
func (j Jump) Back(before Jump) bool {
	return j.At-before.At <= blinkWithin && Gone(j.By.Add(before.By), before.By)
}

// Gone tells whether what is left of a change of light, as two readings tell it, is so little that it was taken back.
func Gone(left, of colorcalc.XYZ) bool { return Size(left) <= blinkBack*Size(of) }

// Blinks tells whether the last three jumps are those of a light that goes on and off: each
// takes the last one back. One step and one return are no blinking yet: somebody
// passed by.
func Blinks(all []Jump) bool {
	n := len(all)
	return n >= 3 && all[n-1].Back(all[n-2]) && all[n-2].Back(all[n-3])
}

// Stood are the times for which a light that goes on and off was seen to stand as it was: between a jump and the one that
// takes it back, from the last reading before the one to the first after the other. It stood no longer than that. None: no jump takes one back.
func Stood(all []Jump) (stood []time.Duration) {
	for i := 1; i < len(all); i++ {
		if all[i].Back(all[i-1]) {
			stood = append(stood, all[i].At-all[i-1].Since)
		}
	}
	return stood
}

// Size is how large a change of light is, lux: the length of it in X, Y, Z.
func Size(c colorcalc.XYZ) float64 { return math.Hypot(math.Hypot(c.X, c.Y), c.Z) }
