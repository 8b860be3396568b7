package report

import (
	"fmt"
	"html/template"
)

// Paper is what a report is printed on.
type Paper string

// The papers. AnyPaper is the printer's own.
const (
	AnyPaper Paper = ""
	A4       Paper = "a4"
	Letter   Paper = "letter"
)

// Check wants one of the papers that can be asked for.
func (p Paper) Check() error {
	if p != A4 && p != Letter {
		return fmt.Errorf("paper %q: want %s or %s", string(p), A4, Letter)
	}
	return nil
}

// css is the size of the page, in CSS Paged Media Level 3.
func (p Paper) css() template.CSS {
	switch p {
	case A4:
		return "size: A4; "
	case Letter:
		return "size: letter; "
	}
	return ""
}
