package loop

import (
	"math"
	"time"

	"trueup/colorcalc"
)

// DeadTime learns how long the light of a fixture type takes to stand still
// after the wire has arrived: fixture response and everything else that the
// feed cannot know. It begins with a careful guess and shortens it only on
// evidence.
//
// After a large move the caller offers the readings that follow; while their
// differences exceed what noise explains, the light was still moving.
type DeadTime struct {
	Fade     time.Duration // that the readings follow, in a straight line; 0: not known
	guess    time.Duration
	measured time.Duration
	known    bool
}

// MinDeadTime is never undercut: one DMX refresh at 44 Hz and one frame of a
// fixture that repeats its input once (ANSI E1.11 timing).
const MinDeadTime = 50 * time.Millisecond

// DefaultDeadTime serves where neither profile nor measurement says anything.
const DefaultDeadTime = 350 * time.Millisecond

// NewDeadTime starts from a hint of the profile; zero means no hint.
func NewDeadTime(hint time.Duration) *DeadTime {
	if hint <= 0 {
		hint = DefaultDeadTime
	}
	return &DeadTime{guess: max(hint, MinDeadTime)}
}

// Wait is how long to wait after arrival before a reading may begin.
func (d *DeadTime) Wait() time.Duration {
	if d.known {
		return d.measured
	}
	return d.guess
}

// Sample is one reading after a move, with the moment its integration ended
// counted from arrival on the wire, and how long before that it may have begun.
type Sample struct {
	After, Window time.Duration
	UV            colorcalc.UV
	LnY           float64 // natural logarithm of the level; NaN when the feed has none
}

// steadySigmas is how many standard errors two readings may differ and still
// count as the same light: 3.5 keeps false alarms below one in two thousand
// for two axes.
const steadySigmas = 3.5

// Differs tells whether two readings are of different light: by more than noise explains, in colour or in level. The sigmas are
// those of one reading, of each axis of u'v' and of ln Y; 0: not known, and then not looked at.
func Differs(a, b Sample, sigmaUV, sigmaLnY float64) bool {
	if sigmaUV > 0 && a.UV.Dist(b.UV) > steadySigmas*sigmaUV*math.Sqrt2 {
		return true
	}
	dy := math.Abs(a.LnY - b.LnY)
	return sigmaLnY > 0 && dy > steadySigmas*sigmaLnY*math.Sqrt2 // false for NaN
}

// climbFor readings make one of the two parts that Climbs compares.
const climbFor = 5

// Climbs tells whether the level goes one way still at the end of the samples, as it does under a long fade of the fixture's own: over the last
// readings, and over as many before them, by more than noise explains. sigmaLnY is that of one reading of ln Y.
func Climbs(samples []Sample, sigmaLnY float64) bool {
	n := len(samples) - 1
	if n < 2*climbFor || !(sigmaLnY > 0) {
		return false
	}
	late, early := samples[n].LnY-samples[n-climbFor].LnY, samples[n-climbFor].LnY-samples[n-2*climbFor].LnY
	least := steadySigmas * sigmaLnY * math.Sqrt2
	return min(late, early) > least || max(late, early) < -least // false for NaN
}

// Learn looks at the readings after one large move. When the last three agree
// they are taken as steady (two would also agree on a slow fade); the dead time
// is the end of the last earlier reading that differs from the last one by more
// than noise explains, but not before the first of all began, for nobody saw what the light did until then; or
// as long as the lag of the level asks for. It reports whether anything was learnt. Fewer than four
// samples, or a light that still moves at their end, teach nothing.
func (d *DeadTime) Learn(samples []Sample, sigmaUV, sigmaLnY float64) bool {
	n := len(samples)
	if n < 4 || !(sigmaUV > 0) {
		return false
	}
	differs := func(a, b Sample) bool { return Differs(a, b, sigmaUV, sigmaLnY) }
	last := samples[n-1]
	if differs(samples[n-2], last) || differs(samples[n-3], last) {
		return false
	}
	settled := max(MinDeadTime, min(samples[0].After-samples[0].Window, DefaultDeadTime)) // somebody may have held the run meanwhile
	for _, s := range samples[:n-3] {
		if differs(s, last) {
			settled = max(settled, s.After)
		}
	}
	// On a slow fade neighbours agree long before the light stands still.
	if l, ok := LagOf(samples, sigmaLnY, d.Fade); ok {
		settled = max(settled, l.Rests())
	}
	d.measured, d.known = settled, true
	return true
}

// Figures of a light that stands at once.
const (
	soonSigmas = 2.0   // standard errors that two levels may differ: to doubt one in twenty that do stand costs two readings
	soonSeen   = 0.035 // the most, ln, that those of steadySigmas may be: a meter that tells levels worse tells nothing so soon
)

// LearnSoon looks at the first two readings after a fade in from the dark, beside which no other light goes out that takes long. They suffice where
// they agree and the meter tells levels well: a fixture that lags has most of its level still before it then, for the fade itself is short beside its lag,
// or moves on between the two by more than noise. It reports whether anything was learnt; where not, [DeadTime.Learn] takes more of them.
func (d *DeadTime) LearnSoon(samples []Sample, sigmaUV, sigmaLnY float64) bool {
	if len(samples) != 2 || !(sigmaUV > 0 && sigmaLnY > 0) || steadySigmas*sigmaLnY*math.Sqrt2 > soonSeen {
		return false
	}
	first, last := samples[0], samples[1]
	began := first.After - first.Window
	apart := math.Abs(first.LnY - last.LnY)
	if began < 0 || last.After-last.Window < first.After || !(apart <= soonSigmas*sigmaLnY*math.Sqrt2) || Differs(first, last, sigmaUV, sigmaLnY) {
		return false
	}
	d.measured, d.known = max(MinDeadTime, min(began, DefaultDeadTime)), true
	return true
}
