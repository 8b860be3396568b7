package rig

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"trueup/profiles/printable"
	"trueup/safety"
)

// split takes a written quantity apart: "50 %/s" is 50 and "%/s". The number
// has a decimal point, no exponent, no sign but minus.
func split(text string) (value float64, unit string, err error) {
	text = strings.TrimSpace(text)
	end := 0
	for end < len(text) && strings.IndexByte("+-.,0123456789", text[end]) >= 0 {
		end++
	}
	num, unit := text[:end], strings.TrimSpace(text[end:])
	if strings.Contains(num, ",") {
		return 0, "", fmt.Errorf("%q has a decimal comma: write %s", text, strings.Replace(num, ",", ".", 1))
	}
	value, err = strconv.ParseFloat(num, 64)
	if err != nil || math.IsInf(value, 0) || math.IsNaN(value) || strings.HasPrefix(num, "+") {
		return 0, "", fmt.Errorf("%q does not begin with a number", text)
	}
	return value, unit, nil
}

var errNoUnit = errors.New("no unit")

// fraction reads "60 %" as 0.6. Only values above 0 and up to 100 % are let
// through: nothing in a rig file may be unlimited or nothing at all.
// lux reads a level at the probe, such as 300 lx.
func lux(text string) (float64, error) {
	v, unit, err := split(text)
	if err != nil || unit != "lx" || !(v > 0) || v > 200000 {
		return 0, fmt.Errorf("common_level %q: want equal, brightest, or a level such as 300 lx", text)
	}
	return v, nil
}

func fraction(text string) (float64, error) {
	v, unit, err := split(text)
	if err != nil {
		return 0, fmt.Errorf("%w: want a percentage of full light, such as 60 %%", err)
	}
	if unit == "" {
		return 0, fmt.Errorf("%q has %w: write %s %% if percent of full light is meant", text, errNoUnit, trim(v))
	}
	if unit != "%" {
		return 0, fmt.Errorf("%q: the unit %q is not a percentage: want %%", text, unit)
	}
	if v <= 0 || v > 100 {
		return 0, fmt.Errorf("%q is not above 0 %% and up to 100 %%", text)
	}
	return v / 100, nil
}

// rate reads "50 %/s" as 0.5 of full light per second.
func rate(text string) (float64, error) {
	v, unit, err := split(text)
	if err != nil {
		return 0, fmt.Errorf("%w: want a speed, such as 50 %%/s", err)
	}
	unit = strings.ReplaceAll(unit, " ", "")
	if unit == "" || unit == "%" {
		return 0, fmt.Errorf("%q is not a speed (%w of time): write %s %%/s", text, errNoUnit, trim(v))
	}
	if unit != "%/s" {
		return 0, fmt.Errorf("%q: the unit %q is not a speed of light: want %%/s (percent of full light per second)", text, unit)
	}
	if v <= 0 || v > maxRate {
		return 0, fmt.Errorf("%q is not above 0 %%/s and up to %g %%/s", text, maxRate)
	}
	return v / 100, nil
}

// maxRate is the governor's fastest ramp, in percent per second.
const maxRate = safety.MaxRate * 100

// duration reads "200 ms", "5 s", "2 min" or "1 h".
func duration(text string, least, most time.Duration) (time.Duration, error) {
	v, unit, err := split(text)
	if err != nil {
		return 0, fmt.Errorf("%w: want a time, such as 200 ms or 5 s", err)
	}
	units := map[string]time.Duration{"ms": time.Millisecond, "s": time.Second, "min": time.Minute, "h": time.Hour}
	u, ok := units[unit]
	if !ok {
		if unit == "" {
			return 0, fmt.Errorf("%q has %w: write ms, s, min or h behind it", text, errNoUnit)
		}
		return 0, fmt.Errorf("%q: the unit %q is not a time: want ms, s, min or h", text, unit)
	}
	if v*float64(u) < float64(least) || v*float64(u) > float64(most) {
		return 0, fmt.Errorf("%q is not within %s to %s", text, printable.Span(least), printable.Span(most))
	}
	return time.Duration(math.Round(v * float64(u))), nil
}

// tolerance reads a plain u'v' distance.
func tolerance(text string) (float64, error) {
	v, unit, err := split(text)
	if err != nil {
		return 0, fmt.Errorf("%w: want a distance in u'v', such as 0.0010", err)
	}
	if unit != "" {
		return 0, fmt.Errorf("%q: a tolerance is a plain distance in u'v' and has no unit, such as 0.0010", text)
	}
	if v < minTolerance || v > maxTolerance {
		return 0, fmt.Errorf("%q is not within %g..%g in u'v' (one step is about 0.0011)", text, minTolerance, maxTolerance)
	}
	return v, nil
}

// Bounds of the tolerance in u'v'. Below the first no meter tells, above the
// second anybody sees the difference.
const (
	minTolerance = 0.0001
	maxTolerance = 0.02
)

func trim(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// CheckFraction says what is wrong with a written share of full light, such as
// "60 %"; nil for nothing.
func CheckFraction(text string) error {
	_, err := fraction(text)
	return err
}
