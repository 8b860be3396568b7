package yamlfile

import "strings"

// Nearest finds the word of a list that a mistyped word most likely means, or
// "" when none is near. Case and the difference between space, hyphen and
// underscore do not count; otherwise at most one letter in three may differ
// (inserted, left out, replaced, or two neighbours swapped).
func Nearest(word string, words []string) string {
	best, bestAt := "", 1<<30
	w := fold(word)
	if len(w) > 64 {
		return ""
	}
	for _, have := range words {
		h := fold(have)
		d := distance(w, h)
		limit := max(1, (max(len(w), len(h))+1)/3)
		if strings.HasPrefix(h, w) && len(w) >= 3 || strings.HasPrefix(w, h) && len(h) >= 3 {
			limit = max(limit, d) // a word cut short or drawn out
		}
		if d <= limit && d < bestAt {
			best, bestAt = have, d
		}
	}
	return best
}

func fold(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '-':
			return '_'
		}
		return r
	}, strings.ToLower(strings.TrimSpace(s)))
}

// distance counts insertions, deletions, replacements and swaps of neighbours
// that turn a into b (optimal string alignment).
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	var before, prev, cur []int
	prev = make([]int, len(y)+1)
	cur = make([]int, len(y)+1)
	before = make([]int, len(y)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(x); i++ {
		cur[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				cur[j] = min(cur[j], before[j-2]+1)
			}
		}
		before, prev, cur = prev, cur, before
	}
	return prev[len(y)]
}
