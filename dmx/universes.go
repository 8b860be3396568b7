package dmx

import (
	"fmt"
	"slices"
	"strings"
)

// ParseUniverses reads a list such as "1..4,7" (or "1-4,7"): numbers and ranges, parted by
// commas. The result is ascending and without doubles; most is how many are
// allowed, so that "1..63999" cannot be asked for by a slip.
func ParseUniverses(text string, most int) ([]Universe, error) {
	var list []Universe
	for _, part := range strings.Split(text, ",") {
		part = strings.TrimSpace(part)
		from, to, ranged := strings.Cut(part, "..")
		if !ranged {
			from, to, ranged = strings.Cut(part, "-") // as many people write it
		}
		a, err := number(from, MaxUniverse)
		if err != nil {
			return nil, fmt.Errorf("universes %q: %w (want a list such as 1..4,7)", text, err)
		}
		b := a
		if ranged {
			if b, err = number(to, MaxUniverse); err != nil {
				return nil, fmt.Errorf("universes %q: %w (want a list such as 1..4,7)", text, err)
			}
		}
		if b < a {
			return nil, fmt.Errorf("universes %q: %d..%d runs backwards", text, a, b)
		}
		if len(list)+b-a+1 > most {
			return nil, fmt.Errorf("universes %q: more than %d", text, most)
		}
		for u := a; u <= b; u++ {
			list = append(list, Universe(u))
		}
	}
	slices.Sort(list)
	return slices.Compact(list), nil
}
