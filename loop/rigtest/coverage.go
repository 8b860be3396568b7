package rigtest

import (
	"fmt"
	"math"
	"strings"
)

// Coverage prints of each class how often the truth lies within what a landing claims, as a Markdown table: what the
// landed believe of themselves beside how many are inside the tolerance, how many are truly beyond 1.5
// times it, and how many lie within the claim's 50, 90, 95 and 99 % circle. All in percent of the landed, but what
// is not landed, which is of the reachable.
func Coverage(scores []Score) string {
	var b strings.Builder
	b.WriteString("| scene | landed | believed | inside | beyond 1.5 tol | 50 | 90 | 95 | 99 | not landed |\n|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|\n")
	for _, s := range scores {
		landed := 0
		if s.Lamps > 0 { // else every run was refused before it began
			landed = int(math.Round(s.Landed * float64(s.Lamps)))
		}
		fmt.Fprintf(&b, "| %s | %d |", s.Class, landed)
		for _, x := range []float64{s.Claimed, s.Inside} {
			b.WriteString(percent(x, 1))
		}
		b.WriteString(percent(s.False, 1))
		for _, x := range s.Coverage {
			b.WriteString(percent(x, 0))
		}
		b.WriteString(percent(s.Missed, 1) + "\n")
	}
	return b.String()
}

// percent is a cell of the table: a share in percent, a dash where there is nothing to count.
func percent(x float64, digits int) string {
	if math.IsNaN(x) {
		return " – |"
	}
	return fmt.Sprintf(" %.*f |", digits, 100*x)
}
