package report

import (
	"fmt"

	"trueup/loop/session"
	"trueup/profiles/printable"
)

const computed = "computed"

// FoundText is how far a fixture was from the target as found, and in a word what is to be known of that: that it was computed, or
// why there is no figure. No word where it was read.
func FoundText(o *session.Outcome) (figure, word string) {
	switch {
	case o.Found != nil && o.Found.Computed:
		return fmt.Sprintf("%.4f", o.Found.Delta), computed
	case o.Found != nil:
		return fmt.Sprintf("%.4f", o.Found.Delta), ""
	case o.Readings == 0:
		return "", "never read"
	}
	return "", "not read"
}

// UnreadAsFound says of a match which fixtures were not read as found, and what is told of them instead; empty where all were.
func UnreadAsFound(s *session.Summary) string {
	unread, told := 0, 0
	for i := range s.Fixtures {
		o := s.Fixtures[i].Final()
		if !o.Unread() {
			continue
		}
		unread++
		if o.Found != nil && o.Found.Computed {
			told++
		}
	}
	if unread == 0 {
		return ""
	}
	text := fmt.Sprintf("Matched without being read as found: %s, since others of their type had shown a better place to begin (match --as-found reads all).", printable.Count(unread, "fixture"))
	if told > 0 {
		text += fmt.Sprintf(" How %s stood is computed from other readings, as is how far that may be off.", printable.Count(told, "fixture"))
	}
	if n := unread - told; n > 0 {
		text += fmt.Sprintf(" How %s stood is not told: not landed, or something was odd.", printable.Count(n, "fixture"))
	}
	return text
}
