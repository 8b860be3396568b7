package main

import (
	"fmt"
	"io"
	"strings"
	"sync"

	"golang.org/x/term"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/profiles/printable"
)

// progress shows a run while it goes on: in a terminal one line per fixture
// that updates in place, elsewhere one plain line per event. It is fed from the
// journal, so it can show nothing that was not recorded.
type progress struct {
	mu    sync.Mutex
	w     io.Writer
	live  bool
	width int
	rows  []progressRow
	index map[string]int
	drawn int // lines of the live block now on the screen
}

type progressRow struct {
	name, state, words string
	found, now         float64
	readings           int
	hasFound, hasNow   bool
}

// newProgress writes to w; w is drawn on in place when it is a terminal.
func newProgress(w io.Writer) *progress {
	p := &progress{w: w, index: map[string]int{}}
	if f := terminalOf(w); f != nil {
		p.w = f
		p.live = true
		p.width = 100
		if cols, _, err := term.GetSize(int(f.Fd())); err == nil && cols > 20 {
			p.width = cols
		}
	}
	return p
}

// Entry takes one journal entry.
func (p *progress) Entry(e session.Entry) {
	p.mu.Lock()
	defer p.mu.Unlock()
	line := p.quietly(e)
	if !p.live {
		if line != "" {
			fmt.Fprintln(p.w, line)
		}
		return
	}
	p.draw()
}

// quietly takes an entry in and returns its plain line, if it has one.
func (p *progress) quietly(e session.Entry) string {
	if e.Kind == core.KindRun && e.Run != nil {
		for _, f := range e.Run.Fixtures {
			p.index[f.Name] = len(p.rows)
			state := "waiting"
			if f.LeftOut {
				state = "left out"
			}
			if f.Fixed {
				state = "not ours to change"
			}
			p.rows = append(p.rows, progressRow{name: f.Name, state: state})
		}
	}
	return p.take(e)
}

// take updates the rows and returns the plain line for the event, if it has one.
func (p *progress) take(e session.Entry) string {
	i, known := p.index[e.Fixture]
	if !known {
		return plainEvent(e)
	}
	r := &p.rows[i]
	switch e.Kind {
	case core.KindFound:
		r.state, r.found, r.hasFound = "as found", e.Reading.Delta, true
		r.now, r.hasNow = e.Reading.Delta, true
		r.readings++
		return fmt.Sprintf("%s: as found %.4f off", e.Fixture, e.Reading.Delta)
	case core.KindStep:
		r.state = "moving"
	case core.KindSent:
		r.state = "settling"
	case core.KindReading:
		r.state = "matching"
		if e.Reading.Delta != 0 { // else nothing is known yet that it could be held against
			r.now, r.hasNow = e.Reading.Delta, true
		}
		r.readings++
	case core.KindAside:
		r.words = e.Note
		return fmt.Sprintf("%s: %s", e.Fixture, e.Note)
	case core.KindAccount:
		r.words = e.Account.Words
		return fmt.Sprintf("%s: reading %d: %.4f off; %s", e.Fixture, r.readings, r.now, e.Account.Words)
	case core.KindOutcome, core.KindVerify:
		o := e.Outcome
		r.state, r.words = o.Result.String(), wordsOf(o)
		what := r.state
		if e.Kind == core.KindVerify {
			what = "verified: " + what
			r.state += ", verified"
		}
		if o.Found != nil {
			r.found, r.hasFound = o.Found.Delta, true
		}
		if o.Final == nil {
			return fmt.Sprintf("%s: %s, never read (%s)", e.Fixture, what, r.words)
		}
		r.now, r.hasNow = o.Final.Delta, true
		return fmt.Sprintf("%s: %s, %.4f off after %d readings (%s)", e.Fixture, what, o.Final.Delta, o.Readings, r.words)
	case core.KindPause:
		r.words = e.Note
		return fmt.Sprintf("%s: %s", e.Fixture, e.Note)
	case core.KindResume:
		return plainEvent(e)
	case core.KindReference:
		r.state, r.words = "the reference", e.Note
		return plainEvent(e)
	}
	return ""
}

func plainEvent(e session.Entry) string {
	switch e.Kind {
	case core.KindReference:
		return fmt.Sprintf("reference %s: u' %.4f v' %.4f (%s)", e.Reference.Name, e.Reference.UV.U, e.Reference.UV.V, e.Note)
	case core.KindBackground, core.KindConflict, core.KindLevel, core.KindDrift, core.KindHold, core.KindPause, core.KindResume, core.KindStop, core.KindEnd:
		return e.Note
	}
	return ""
}

// draw repaints the block of fixture lines.
func (p *progress) draw() {
	if len(p.rows) == 0 {
		return
	}
	var b strings.Builder
	if p.drawn > 0 {
		fmt.Fprintf(&b, "\x1b[%dA", p.drawn)
	}
	wide := 4
	for _, r := range p.rows {
		wide = max(wide, len([]rune(r.name)))
	}
	for _, r := range p.rows {
		found, now := "      ", "      "
		if r.hasFound {
			found = fmt.Sprintf("%.4f", r.found)
		}
		if r.hasNow {
			now = fmt.Sprintf("%.4f", r.now)
		}
		line := fmt.Sprintf("  %-*s  %-20s %s -> %s  %2d readings  %s", wide, r.name, r.state, found, now, r.readings, r.words)
		if !r.hasFound && !r.hasNow {
			line = fmt.Sprintf("  %-*s  %-20s %s", wide, r.name, r.state, r.words)
		}
		runes := []rune(printable.Text(line))
		if len(runes) > p.width-1 {
			runes = append(runes[:p.width-2], '…')
		}
		fmt.Fprintf(&b, "\x1b[2K%s\n", string(runes))
	}
	p.drawn = len(p.rows)
	io.WriteString(p.w, b.String())
}
