package looptest

import (
	"fmt"
	"slices"
	"strings"

	"trueup/loop/solve"
)

// Score sums up the runs of one method on one class.
type Score struct {
	Class, Method string
	Goal          [2]int
	Runs          int
	Readings      [3]float64 // median, 95th percentile, largest
	Mean          float64
	Stations      [2]float64
	Seconds       [2]float64
	Error         [3]float64 // true, u'v': median, 95th percentile, largest; of all runs
	Landed        float64    // share of all runs
	OutOfReach    float64
	Inside        float64 // share of the landed truly inside tolerance
	False         float64 // share of all runs that landed beyond 1.5 tolerances
	Handled       float64 // share of honest ends
	NearBest      float64 // share of runs that end within one tolerance of the best possible
	Broken        int
	Why           string // of the first broken run
}

// Sum scores runs.
func Sum(class Class, method string, runs []Run, tol float64) Score {
	s := Score{Class: class.Name, Goal: class.Goal, Method: method, Runs: len(runs)}
	if len(runs) == 0 {
		return s
	}
	var readings, stations, seconds, errs []float64
	landed, inside := 0, 0
	n := float64(len(runs))
	for _, r := range runs {
		if r.Broken != "" {
			if s.Broken++; s.Why == "" {
				s.Why = r.Broken
			}
		}
		readings = append(readings, float64(r.Readings))
		stations = append(stations, float64(r.Stations))
		seconds = append(seconds, r.Seconds)
		errs = append(errs, r.Error)
		s.Mean += float64(r.Readings) / n
		switch r.Outcome {
		case solve.Landed, solve.Predicted: // true where it stands is what both claim
			landed++
			if r.Error <= tol {
				inside++
			}
			if r.Error > 1.5*tol {
				s.False += 1 / n
			}
		case solve.OutOfReach:
			s.OutOfReach += 1 / n
		}
		if r.Honest(tol) {
			s.Handled += 1 / n
		}
		if r.Off <= tol {
			s.NearBest += 1 / n
		}
	}
	s.Landed = float64(landed) / n
	if landed > 0 {
		s.Inside = float64(inside) / float64(landed)
	}
	s.Readings = [3]float64{Quantile(readings, 0.5), Quantile(readings, 0.95), Quantile(readings, 1)}
	s.Stations = [2]float64{Quantile(stations, 0.5), Quantile(stations, 0.95)}
	s.Seconds = [2]float64{Quantile(seconds, 0.5), Quantile(seconds, 0.95)}
	s.Error = [3]float64{Quantile(errs, 0.5), Quantile(errs, 0.95), Quantile(errs, 1)}
	return s
}

// Quantile is the smallest value that at least a share q of the values do not
// exceed; NaN-free input of any order, which is left alone. 0 for no values.
func Quantile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Clone(v)
	slices.Sort(s)
	i := int(q*float64(len(s))+0.999999) - 1
	return s[min(max(i, 0), len(s)-1)]
}

// Table prints scores as a Markdown table.
func Table(scores []Score) string {
	var b strings.Builder
	b.WriteString("| class | method | runs | readings 50/95/max (mean) | goal | moves 50/95 | seconds 50/95 | true error x1e-4 50/95/max | landed % | inside tol % | false % | out of reach % | handled % | near best % |\n")
	b.WriteString("|---|---|--:|---|---|---|---|---|--:|--:|--:|--:|--:|--:|\n")
	for _, s := range scores {
		goal := ""
		if s.Goal[0] > 0 {
			goal = fmt.Sprintf("%d / %d", s.Goal[0], s.Goal[1])
		}
		fmt.Fprintf(&b, "| %s | %s | %d | %.0f / %.0f / %.0f (%.2f) | %s | %.0f / %.0f | %.1f / %.1f | %.1f / %.1f / %.1f | %.1f | %.1f | %.2f | %.1f | %.1f | %.1f |",
			s.Class, s.Method, s.Runs, s.Readings[0], s.Readings[1], s.Readings[2], s.Mean, goal, s.Stations[0], s.Stations[1],
			s.Seconds[0], s.Seconds[1], 1e4*s.Error[0], 1e4*s.Error[1], 1e4*s.Error[2],
			100*s.Landed, 100*s.Inside, 100*s.False, 100*s.OutOfReach, 100*s.Handled, 100*s.NearBest)
		if s.Broken > 0 {
			fmt.Fprintf(&b, " broken %d: %s", s.Broken, s.Why)
		}
		b.WriteByte('\n')
	}
	return b.String()
}
