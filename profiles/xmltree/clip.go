package xmltree

import "unicode"

// Clip bounds a text from a file at 80 characters and puts spaces for all that
// does not print, so that nothing in it can break a comment, a line or a
// terminal.
func Clip(text string) string {
	out := make([]rune, 0, 64)
	for _, r := range text {
		if len(out) == 80 {
			return string(out) + "…"
		}
		if !unicode.IsPrint(r) || r == unicode.ReplacementChar {
			r = ' '
		}
		out = append(out, r)
	}
	return string(out)
}
