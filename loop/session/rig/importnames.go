package rig

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"trueup/profiles/mvr"
)

// maxName is the longest name that a rig file takes, in bytes.
const maxName = 63

// planNames gives every fixture of a plan a name of its own. Names of a plan
// are often that of the type for all: those that stand more than once get their
// position and unit number behind them, else the desk channel, else a number.
func planNames(fixtures []mvr.Fixture) []string {
	names := make([]string, len(fixtures))
	count := map[string]int{}
	for i := range fixtures {
		names[i] = lampName(fixtures[i].Name)
		if names[i] == "" {
			names[i] = "fixture"
		}
		count[names[i]]++
	}
	longer := func(behind func(f *mvr.Fixture) string) {
		again := map[string]int{}
		for i := range fixtures {
			if count[names[i]] > 1 {
				if b := lampName(behind(&fixtures[i])); b != "" {
					names[i] = join(lampName(fixtures[i].Name), b)
				}
			}
			again[names[i]]++
		}
		count = again
	}
	longer(func(f *mvr.Fixture) string {
		if f.Position == "" || f.Unit == 0 {
			return ""
		}
		return f.Position + " " + strconv.Itoa(f.Unit)
	})
	longer(func(f *mvr.Fixture) string { return f.ID })
	used := map[string]bool{}
	for name, n := range count {
		used[name] = n == 1
	}
	next := map[string]int{}
	for i, name := range names {
		if count[name] == 1 {
			continue
		}
		for {
			next[name]++
			if names[i] = join(name, strconv.Itoa(next[name])); !used[names[i]] {
				break
			}
		}
		used[names[i]] = true
	}
	return names
}

// lampName makes a text of a plan a name that a rig file takes: on one line, not
// too long, and without the two dots of a range.
func lampName(text string) string {
	text = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return ' '
		}
		return r
	}, text)
	for strings.Contains(text, "..") {
		text = strings.ReplaceAll(text, "..", ".")
	}
	return cut(strings.Join(strings.Fields(text), " "), maxName)
}

// join puts a second part behind a name, which gives way where both are too
// long together.
func join(name, behind string) string {
	behind = cut(behind, maxName/2)
	name = strings.TrimRight(cut(name, maxName-1-len(behind)), ".")
	return strings.TrimSpace(name + " " + behind)
}

// cut shortens a text to so many bytes, at the end of a character.
func cut(text string, bytes int) string {
	if len(text) <= bytes {
		return text
	}
	for bytes > 0 && !utf8.RuneStart(text[bytes]) {
		bytes--
	}
	return strings.TrimSpace(text[:bytes])
}

// ranges writes names as a rig file does: neighbours that count up by one
// become a range.
func ranges(names []string) []string {
	var out []string
	for i := 0; i < len(names); {
		before, first := counted(names[i])
		n := 1
		for first >= 0 && i+n < len(names) {
			b, k := counted(names[i+n])
			if b != before || k != first+n {
				break
			}
			n++
		}
		if n > 1 {
			out = append(out, before+strconv.Itoa(first)+".."+strconv.Itoa(first+n-1))
		} else {
			out = append(out, names[i])
		}
		i += n
	}
	return out
}

// counted takes the number off the end of a name; -1 where there is none that
// a range can count.
func counted(name string) (string, int) {
	at := len(name)
	for at > 0 && isDigit(name[at-1]) {
		at--
	}
	n, err := strconv.Atoi(name[at:])
	if err != nil || n >= 99999 || strconv.Itoa(n) != name[at:] {
		return "", -1
	}
	return name[:at], n
}
