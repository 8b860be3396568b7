package rig

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
)

// maxFixtures bounds a rig; more is a slip of the keyboard, or an attack.
const maxFixtures = 4000

// span is a written range of names: "wash 01..08" is eight names.
type span struct {
	before, after string
	first, last   int
	width         int // digits, for leading zeros
	is            bool
}

// parseSpan finds the one a..b in a name, if there is one.
func parseSpan(text string) (span, error) {
	i := strings.Index(text, "..")
	if i < 0 {
		return span{before: text}, nil
	}
	from, to := i, i+2
	for from > 0 && isDigit(text[from-1]) {
		from--
	}
	for to < len(text) && isDigit(text[to]) {
		to++
	}
	if from == i || to == i+2 || strings.Contains(text[to:], "..") {
		return span{}, fmt.Errorf("%q: a range needs one number on either side of the two dots, such as wash 1..8", text)
	}
	first, err1 := strconv.Atoi(text[from:i])
	last, err2 := strconv.Atoi(text[i+2 : to])
	if err1 != nil || err2 != nil || last > 99999 {
		return span{}, fmt.Errorf("%q: numbers of a range end at 99999", text)
	}
	if last < first {
		return span{}, fmt.Errorf("%q counts down: write %d..%d", text, last, first)
	}
	if last-first >= maxFixtures {
		return span{}, fmt.Errorf("%q is %d names; a rig has at most %d fixtures", text, last-first+1, maxFixtures)
	}
	s := span{before: text[:from], after: text[to:], first: first, last: last, is: true}
	if text[from] == '0' && i-from > 1 {
		s.width = i - from
	}
	return s, nil
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// count is the number of names; 1 for a plain name.
func (s span) count() int {
	if !s.is {
		return 1
	}
	return s.last - s.first + 1
}

// name is the i-th name, from 0.
func (s span) name(i int) string {
	if !s.is {
		return s.before
	}
	n := strconv.Itoa(s.first + i)
	if pad := s.width - len(n); pad > 0 {
		n = strings.Repeat("0", pad) + n
	}
	return s.before + n + s.after
}

// checkName refuses names that can not be typed, said or shown.
func checkName(name string) error {
	if name == "" {
		return fmt.Errorf("a name is missing")
	}
	if len(name) > 63 {
		return fmt.Errorf("name %.20q… is %d bytes long; 63 are allowed", name, len(name))
	}
	if strings.TrimSpace(name) != name {
		return fmt.Errorf("name %q begins or ends with a space", name)
	}
	for _, r := range name {
		if !unicode.IsPrint(r) {
			return fmt.Errorf("name %q has a character that does not print", name)
		}
	}
	return nil
}

// Count tells how many lamps a written name stands for: 8 for "wash 1..8", and
// 1 for a plain name or one that can not be read.
func Count(name string) int {
	s, err := parseSpan(name)
	if err != nil {
		return 1
	}
	return s.count()
}

// Has tells whether one of the written names, ranges included, is or contains
// name.
func Has(written []string, name string) bool {
	for _, w := range written {
		s, err := parseSpan(w)
		if err != nil {
			continue
		}
		for i := range s.count() {
			if s.name(i) == name {
				return true
			}
		}
	}
	return false
}
