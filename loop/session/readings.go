package session

import (
	"fmt"
	"strconv"

	"trueup/loop/session/core"
	"trueup/profiles/printable"
)

// Readings are those of one fixture: what its outcome rests on, and what was set aside. The zero value begins.
type Readings struct {
	Count int // they count: what is said of the fixture rests on them
	Aside int // set aside when they came, refused by the estimate, or void since a value was typed wrongly

	refused bool // the latest was set aside
}

// Take takes one entry about the fixture in.
func (r *Readings) Take(e *Entry) {
	switch e.Kind {
	case core.KindReading, core.KindFound, core.KindAside:
		if e.Reading == nil {
			return
		}
		r.refused = false
		r.Count++
		if e.Kind == core.KindAside {
			r.refuse()
		}
	case core.KindAccount:
		if e.Account != nil && e.Account.Verdict != VerdictAccepted {
			r.refuse()
		}
	case core.KindUndo:
		*r = Readings{Aside: r.Count + r.Aside}
	}
}

// refuse sets the latest aside, once.
func (r *Readings) refuse() {
	if !r.refused && r.Count > 0 {
		r.refused = true
		r.Count, r.Aside = r.Count-1, r.Aside+1
	}
}

// String is the number of those that count, and what was set aside beside them: 11 + 2 aside.
func (r Readings) String() string {
	if r.Aside == 0 {
		return strconv.Itoa(r.Count)
	}
	return fmt.Sprintf("%d + %d aside", r.Count, r.Aside)
}

// Words are the same in a sentence: 11 readings, 2 more set aside.
func (r Readings) Words() string {
	words := printable.Count(r.Count, "reading")
	if r.Aside > 0 {
		words += fmt.Sprintf(", %d more set aside", r.Aside)
	}
	return words
}
