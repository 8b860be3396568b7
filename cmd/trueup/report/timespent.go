package report

import (
	"fmt"
	"slices"
	"time"

	"trueup/loop/session"

	"trueup/profiles/printable"
)

// whereTimeWent says in sentences what a run took its time for. Nothing is said of a run in which
// nothing was done at a fixture.
func whereTimeWent(s *session.Summary) []string {
	var spent []time.Duration
	slowest, total := "", time.Duration(0)
	most := time.Duration(0)
	for _, f := range s.Fixtures {
		if f.Spent <= 0 || len(f.Trace) == 0 {
			continue
		}
		spent, total = append(spent, f.Spent), total+f.Spent
		if f.Spent > most {
			most, slowest = f.Spent, f.Name
		}
	}
	if len(spent) == 0 {
		return nil
	}
	slices.Sort(spent)
	whole := s.Ended.Sub(s.Started)
	lines := []string{
		fmt.Sprintf("The run took %s: %s at the fixtures, %s for background, reference and the rest that all of them need.", Roughly(whole), Roughly(total), Roughly(whole-total)),
		fmt.Sprintf("A fixture took %s in the middle of the range; the longest was %s with %s.", Roughly(spent[len(spent)/2]), slowest, Roughly(most)),
	}
	if s.Waited.Readings > 0 {
		lines = append(lines, "It waited for: "+SpentWords(s.Waited)+".")
	}
	if s.Floor > 0 {
		lines = append(lines, fmt.Sprintf("The same readings need at least %s (integration and latency of each, the fixtures' response, the ramps of their moves within the limits, and the time that fixtures were watched for): the run took %.2f times that.",
			Roughly(s.Floor), s.Waited.Total().Seconds()/s.Floor.Seconds()))
	}
	return lines
}

// SpentWords says what a run waits for.
func SpentWords(s session.Spent) string {
	words := fmt.Sprintf("%s fades within the limits, %s until the light stood still, %s the meter (%s of that its integration)",
		Roughly(s.Fade), Roughly(s.Settle), Roughly(s.Meter()), Roughly(s.Integration))
	if s.Watch >= time.Second {
		words += ", " + Roughly(s.Watch) + " between readings of fixtures that were watched, to see whether they keep their colour"
	}
	if s.Other >= time.Second {
		words += ", " + Roughly(s.Other) + " waiting for other things"
	}
	return words
}

// Roughly is a duration as people say it.
func Roughly(d time.Duration) string {
	return printable.Span(d)
}
