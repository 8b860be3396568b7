package main

import (
	"runtime"
	"strings"
)

// typed is a word of a command as a person types it in a shell: one that a shell would take apart is quoted.
func typed(word string) string { return typedOn(runtime.GOOS, word) }

func typedOn(system, word string) string {
	plain := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r > '~' || strings.ContainsRune("/._-+:,=@%", r) || system == "windows" && r == '\\'
	}
	switch {
	case word != "" && !strings.ContainsFunc(word, func(r rune) bool { return !plain(r) }):
		return word
	case system == "windows":
		return `"` + word + `"`
	}
	return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
}
