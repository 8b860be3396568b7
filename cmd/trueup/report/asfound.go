package report

import (
	"fmt"

	"trueup/loop/session"
	"trueup/profiles/printable"
)

// UnreadAsFound says of a match which fixtures were not read as found, and what is told of them instead; empty where all were.
func UnreadAsFound(s *session.Summary) string {
	unread, computed := 0, 0
	for i := range s.Fixtures {
		o := s.Fixtures[i].Final()
		if !o.Unread() {
			continue
		}
		unread++
		if o.Found != nil && o.Found.Computed {
			computed++
		}
	}
	if unread == 0 {
		return ""
	}
	text := fmt.Sprintf("Matched without being read as found: %s, since others of their type had shown a better place to begin (match --as-found reads all).", printable.Count(unread, "fixture"))
	if computed > 0 {
		text += fmt.Sprintf(" How %s stood is computed from other readings, as is how far that may be off.", printable.Count(computed, "fixture"))
	}
	if n := unread - computed; n > 0 {
		text += fmt.Sprintf(" How %s stood is not told: not landed, or something was odd.", printable.Count(n, "fixture"))
	}
	return text
}
