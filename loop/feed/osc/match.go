package osc

import (
	"slices"
	"strings"
)

// Match reports whether an address matches a pattern of the specification:
// ? * [a-z] [!x] {one,two}, none of which crosses a slash.
func Match(pattern, address string) bool {
	pp, aa := strings.Split(pattern, "/"), strings.Split(address, "/")
	if len(pp) != len(aa) {
		return false
	}
	for i := range pp {
		if budget := 10_000; !matchPart(pp[i], aa[i], &budget) {
			return false
		}
	}
	return true
}

func matchPart(p, a string, budget *int) bool {
	if *budget--; *budget < 0 {
		return false
	}
	if p == "" {
		return a == ""
	}
	switch p[0] {
	case '*':
		for i := 0; i <= len(a); i++ {
			if matchPart(p[1:], a[i:], budget) {
				return true
			}
		}
		return false
	case '?':
		return a != "" && matchPart(p[1:], a[1:], budget)
	case '[':
		set, rest, ok := strings.Cut(p[1:], "]")
		return ok && a != "" && inSet(set, a[0]) && matchPart(rest, a[1:], budget)
	case '{':
		words, rest, ok := strings.Cut(p[1:], "}")
		return ok && slices.ContainsFunc(strings.Split(words, ","), func(w string) bool {
			after, has := strings.CutPrefix(a, w)
			return has && matchPart(rest, after, budget)
		})
	}
	return a != "" && a[0] == p[0] && matchPart(p[1:], a[1:], budget)
}

// inSet reports whether a character is in a set: a-z for a range, ! before it for
// what is not in it.
func inSet(set string, c byte) bool {
	set, not := strings.CutPrefix(set, "!")
	in := false
	for i := 0; i < len(set); i++ {
		if i+2 < len(set) && set[i+1] == '-' {
			in = in || set[i] <= c && c <= set[i+2]
			i += 2
		} else {
			in = in || set[i] == c
		}
	}
	return in != not
}
