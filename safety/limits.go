package safety

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// Limits are what no wish can overrule. They are read once, at the start, and
// shown. The zero value is refused: a missing limit is an error, never "no
// limit". Begin with [DefaultLimits].
type Limits struct {
	// Rise and Fall bound how fast a head's light, and each of its emitters and
	// its dimmer, may change: fraction of full light output per second, to within
	// one step of the slots. They hold for every response that [ExponentSpread] allows.
	Rise, Fall float64
	// Colour bounds colour parameters (CCT, tint, x, y, hue, saturation):
	// fraction of the parameter's whole range per second.
	Colour float64
	// LevelCap bounds every head's light, as a fraction of its full light. A
	// head may have a lower cap of its own.
	LevelCap float64
	// UVCap bounds emitters marked UV, as a fraction of the emitter's code
	// range: never in lux, for photometry is nearly blind to them.
	UVCap float64
	// MaxFullTime is how long a head may stand at its cap before it is brought
	// down to three quarters of it, to rest as long as it stood.
	MaxFullTime time.Duration
	// Pace is the least time between the starts of two large steps (10 % of
	// any parameter) of one head: probing, solo-ing, hunting.
	Pace time.Duration
	// Watchdog is how long the run may finish no step of its event loop before
	// the governor ends it by itself; see [Governor.Alive].
	Watchdog time.Duration
	// KeepLight is, with PeopleAloft, the share of a head's light at the start
	// below which no wish may take it: nobody on a ladder loses their light.
	KeepLight float64
	// PeopleAloft says that people work at height: see [Limits.Aloft].
	PeopleAloft bool
	// Strobe says whether a person allowed a strobe function at all.
	Strobe Strobe
}

// Strobe is the state of strobe functions. The zero value is "pinned open".
type Strobe struct {
	Allowed bool
	// Max bounds the sum of the flash rates of all heads of the run. It is
	// needed, and only allowed, with Allowed.
	Max Hertz
}

// Hertz is a rate of flashes per second.
type Hertz float64

// String writes the rate with its unit.
func (h Hertz) String() string { return fmt.Sprintf("%g Hz", float64(h)) }

// Bounds that no setting can raise.
const (
	// MaxRate is the fastest ramp that may be asked for: full light in a
	// quarter of a second.
	MaxRate = 4.0
	// StrobeCeiling is three flashes a second, the general flash limit of WCAG
	// 2.2, success criterion 2.3.1.
	StrobeCeiling Hertz = 3
	// SwingLight is the change of light output, as a fraction of full, that
	// counts as half a flash (WCAG 2.2 "general flash": 10 % of the maximum;
	// the exemption of a bright dark state is never used).
	SwingLight = 0.10
	// SwingUnknown takes its place where a response curve is not known and light
	// is taken as the code: on a square-law dimmer 5 % of code near the top is 10 % of
	// light. What else the response may be is followed beside it, with SwingLight.
	SwingUnknown = 0.05
	// MaxSwings is how many opposing swings any sliding second may hold, over
	// all heads together: three flashes.
	MaxSwings = 6
	// RedRatio and RedDistance: a swing is also a change to or from a state
	// with R/(R+G+B) of RedRatio or more, the states more than RedDistance
	// apart in CIE 1976 u'v' (WCAG 2.2 "red flash", after ISO 9241-391).
	RedRatio    = 0.8
	RedDistance = 0.2
	// MaxStep is the longest time that one frame may make up for. Whatever the
	// clock does, a frame moves no further than this much time allows.
	MaxStep = 50 * time.Millisecond
	// LostAfter is when receivers give a silent source up (E1.31-2018 6.7.1).
	LostAfter = 2500 * time.Millisecond
)

// DefaultLimits returns gentle limits: a full fade takes two seconds.
func DefaultLimits() Limits {
	return Limits{Rise: 0.5, Fall: 0.5, Colour: 1, LevelCap: 1, UVCap: 0.1, MaxFullTime: 10 * time.Minute,
		Pace: 1100 * time.Millisecond, Watchdog: 5 * time.Second, KeepLight: 0.5}
}

// Aloft returns the calmer variant for people at height: fades of five seconds
// at least, nothing faster than it was. No head may lose more than KeepLight
// leaves it, so heads are not soloed by darkening the others.
func (l Limits) Aloft() Limits {
	l.PeopleAloft = true
	l.Rise, l.Fall = min(l.Rise, 0.2), min(l.Fall, 0.2)
	l.Colour = min(l.Colour, 0.5)
	l.Pace = max(l.Pace, 3*time.Second)
	l.Strobe = Strobe{}
	return l
}

// Check refuses limits that are missing, zero, negative, not a number or out
// of range. All of them are named at once.
func (l Limits) Check() error {
	var errs []error
	frac := func(name string, v, most float64) {
		if !(v > 0) || v > most || math.IsInf(v, 0) { // NaN fails the first
			errs = append(errs, fmt.Errorf("limit %s is %g: want above 0 and up to %g; a limit cannot be left out", name, v, most))
		}
	}
	dur := func(name string, v, least, most time.Duration) {
		if v < least || v > most {
			errs = append(errs, fmt.Errorf("limit %s is %s: want %s to %s; a limit cannot be left out", name, span(v), span(least), span(most)))
		}
	}
	frac("rise (fraction of full light per second)", l.Rise, MaxRate)
	frac("fall (fraction of full light per second)", l.Fall, MaxRate)
	frac("colour (fraction of range per second)", l.Colour, MaxRate)
	frac("level cap (fraction of full light)", l.LevelCap, 1)
	frac("UV cap (fraction of emitter level)", l.UVCap, 1)
	frac("keep light (fraction of light at the start)", l.KeepLight, 1)
	dur("time at full", l.MaxFullTime, time.Second, 24*time.Hour)
	dur("pace", l.Pace, time.Second, time.Minute)
	dur("watchdog", l.Watchdog, 500*time.Millisecond, time.Minute)
	if s := l.Strobe; s.Allowed {
		frac("strobe (Hz)", float64(s.Max), float64(StrobeCeiling))
		if l.PeopleAloft {
			errs = append(errs, errors.New("a strobe function cannot be allowed with people aloft"))
		}
	} else if s.Max != 0 {
		errs = append(errs, fmt.Errorf("strobe limit %v given but strobe is not allowed: say both or neither", s.Max))
	}
	return errors.Join(errs...)
}

// Describe says the limits in words, one line each, for a person to read
// before light moves.
func (l Limits) Describe() []string {
	pc := func(v float64) string { return fmt.Sprintf("%.4g %%", 100*v) }
	lines := []string{
		"light rises by at most " + pc(l.Rise) + " of full a second, falls by at most " + pc(l.Fall) + ", to within one step of the slot",
		"that holds for fixtures whose dimming exponent is within " + pc(ExponentSpread) + " of the profile's; where it names no curve, for any from linear to cubic",
		"colour parameters move through at most " + pc(l.Colour) + " of their range a second",
		"no head above " + pc(l.LevelCap) + " of its full light (groups and fixtures may be lower)",
		"UV, violet and unknown emitters at most at " + pc(l.UVCap) + " of their level",
		fmt.Sprintf("a head stands at its cap for at most %s, then rests at three quarters", span(l.MaxFullTime)),
		"at most three flashes in any second over all heads together; the next one waits",
		fmt.Sprintf("large steps of one head start at least %s apart", span(l.Pace)),
		fmt.Sprintf("watchdog: if the run finishes no step for %s, the fixtures are handed back without it", span(l.Watchdog)),
	}
	if l.Strobe.Allowed {
		lines = append(lines, fmt.Sprintf("STROBE ALLOWED: at most %v over all heads together", l.Strobe.Max))
	} else {
		lines = append(lines, "shutter and strobe slots stay open")
	}
	if l.PeopleAloft {
		lines = append(lines, "people aloft: no head below "+pc(l.KeepLight)+" of its light at the start")
	}
	return lines
}

// span is a limit's time in words; limits are given in whole seconds or
// milliseconds. (This room knows no other of ours, so it has words of its own.)
func span(d time.Duration) string {
	switch {
	case d >= time.Minute && d%time.Minute == 0:
		return fmt.Sprintf("%d min", d/time.Minute)
	case d >= time.Second:
		return fmt.Sprintf("%.4g s", d.Seconds())
	}
	return fmt.Sprintf("%d ms", d.Milliseconds())
}
