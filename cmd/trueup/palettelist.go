package main

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"trueup/colorcalc/expr"
	"trueup/profiles/userfile"
)

// mostColours bounds a palette: each is predicted for every fixture of the rig.
const mostColours = 500

// readPaletteList reads the colours of a file, one a line as [expr.Parse] takes them; what follows a # is a comment. An error
// says where.
func readPaletteList(path string) (colours []string, err error) {
	data, err := userfile.Read(path, userfile.Palette)
	if err != nil {
		return nil, err
	}
	if !utf8.Valid(data) {
		return nil, fmt.Errorf("%s is no text (UTF-8): want one colour a line, such as 3200 K", path)
	}
	n := 0
	for line := range strings.Lines(strings.TrimPrefix(string(data), "\uFEFF")) {
		n++
		text, _, _ := strings.Cut(line, "#")
		lead := utf8.RuneCountInString(text) - utf8.RuneCountInString(strings.TrimLeft(text, " \t"))
		if text = strings.TrimSpace(text); text == "" {
			continue
		}
		var e *expr.Error
		switch _, err := expr.Parse(text); {
		case errors.As(err, &e) && e.Hint != "":
			return nil, fmt.Errorf("%s:%d:%d: %s; %s", path, n, lead+e.Column(), e.Msg, e.Hint)
		case errors.As(err, &e):
			return nil, fmt.Errorf("%s:%d:%d: %s", path, n, lead+e.Column(), e.Msg)
		case err != nil:
			return nil, fmt.Errorf("%s:%d: %w", path, n, err)
		}
		if colours = append(colours, text); len(colours) > mostColours {
			return nil, fmt.Errorf("%s:%d: more than %d colours; make two lists of it", path, n, mostColours)
		}
	}
	if len(colours) == 0 {
		return nil, fmt.Errorf("%s holds no colour: want one a line, such as 3200 K", path)
	}
	return colours, nil
}
