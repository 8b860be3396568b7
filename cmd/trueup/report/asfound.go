package report

import (
	"fmt"

	"trueup/loop/session"
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
	text := fmt.Sprintf("Of the fixtures %d were matched without being read as found, since others of their type had shown a better place to begin (match --as-found reads all).", unread)
	if computed > 0 {
		text += fmt.Sprintf(" How %d of them stood is computed from their other readings, as is how far that may be off.", computed)
	}
	if n := unread - computed; n > 0 {
		text += fmt.Sprintf(" How %d of them stood is not told: they did not land, or something about them was odd.", n)
	}
	return text
}
