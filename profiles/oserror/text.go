package oserror

import (
	"cmp"
	"strings"
)

// Text is what an error says, with each part that the system or a library told in
// its own words put plainly. An error that has none of these is told as it is; nil
// is "".
func Text(err error) string {
	if err == nil {
		return ""
	}
	text := err.Error()
	for _, p := range foreign(err, nil) {
		theirs := p.err.Error()
		if i := strings.LastIndex(text, theirs); i >= 0 {
			text = text[:i] + p.words + text[i+len(theirs):]
		}
	}
	return text
}

// Plain is an error that says what [Text] says of err, and wraps it; nil for nil.
func Plain(err error) error {
	if err == nil {
		return nil
	}
	text := Text(err)
	if text == err.Error() {
		return err
	}
	return &plain{text, err}
}

type plain struct {
	text string
	err  error
}

func (p *plain) Error() string { return p.text }
func (p *plain) Unwrap() error { return p.err }

// part is an error inside another that we have better words for.
type part struct {
	err   error
	words string
}

// foreign finds the outermost such parts of an error, in order.
func foreign(err error, found []part) []part {
	if err == nil {
		return found
	}
	if _, done := err.(*plain); done {
		return found
	}
	if words := cmp.Or(ofNetwork(err), ofFile(err), ofSystem(err), ofJSON(err)); words != "" {
		return append(found, part{err, words})
	}
	switch e := err.(type) {
	case interface{ Unwrap() error }:
		return foreign(e.Unwrap(), found)
	case interface{ Unwrap() []error }:
		for _, one := range e.Unwrap() {
			found = foreign(one, found)
		}
	}
	return found
}
