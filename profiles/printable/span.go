package printable

import (
	"fmt"
	"math"
	"time"
)

// Span is a duration as people say it: 250 ms, 2.5 s, 48 s, 10 min, 2 min 30 s,
// 1 h 5 min. It is rounded to a tenth of a second below ten seconds, to a second
// below an hour, to a minute above.
func Span(d time.Duration) string {
	if d < 0 {
		return "-" + Span(-max(d, -math.MaxInt64))
	}
	two := func(n time.Duration, unit string, m time.Duration, part string) string {
		if m == 0 {
			return fmt.Sprintf("%d %s", n, unit)
		}
		return fmt.Sprintf("%d %s %d %s", n, unit, m, part)
	}
	switch { // each asks what it rounds to: 59 min 59.7 s are 1 h
	case d.Round(time.Millisecond) < time.Second:
		return fmt.Sprintf("%d ms", d.Round(time.Millisecond).Milliseconds())
	case d.Round(100*time.Millisecond) < 10*time.Second:
		return fmt.Sprintf("%.3g s", d.Round(100*time.Millisecond).Seconds())
	case d.Round(time.Second) < time.Hour:
		d = d.Round(time.Second)
		if d < time.Minute {
			return fmt.Sprintf("%d s", d/time.Second)
		}
		return two(d/time.Minute, "min", d%time.Minute/time.Second, "s")
	}
	d = d.Round(time.Minute)
	return two(d/time.Hour, "h", d%time.Hour/time.Minute, "min")
}
