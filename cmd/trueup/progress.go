package main

import (
	"fmt"
	"io"
	"sync"
	"time"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// progress shows a run while it goes on: in a terminal a block of lines that updates in place and fits the
// window, elsewhere plain lines. It is fed from the journal, so it can show nothing that was not recorded.
type progress struct {
	mu    sync.Mutex
	w     io.Writer // for plain lines, and for what is printed above the block
	paint *painter  // nil where there is no terminal
	run   session.Progress
	rows  []progressRow
	index map[string]int
	first string // what the first reading of a fixture shows, in words
	sent  string // what a fixture does that was sent a setting
	light string // name of the reference, which is read and matched to nothing
	order []int  // rows whose fixture ended, the latest last
	drawn time.Time
	plain time.Time // when the last plain line was written
	asked time.Time // when the run was asked for
	began time.Time // its first entry that was shown as it came
}

type progressRow struct {
	name, state, words string
	found, now         float64
	readings           session.Readings
	nth                int // the latest reading among those that count
	hasFound, hasNow   bool
	wants              bool // it ended in a way that wants a person
}

// newProgress writes to w; it is drawn on in place when it is a terminal.
func newProgress(w io.Writer) *progress {
	p := &progress{w: w, index: map[string]int{}, asked: time.Now()}
	if f := terminalOf(w); f != nil {
		p.paint = newPainter(f)
	}
	return p
}

// inPlace tells whether a block is drawn.
func (p *progress) inPlace() bool { return p.paint != nil }

// Entry takes one journal entry.
func (p *progress) Entry(e session.Entry) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.began.IsZero() {
		p.began = e.Time
	}
	line, may := p.quietly(e)
	if p.paint != nil {
		if standsAbove[e.Kind] && e.Note != "" {
			p.putAbove([]byte(e.Note+"\n"), e.Time)
		}
		if e.Time.Sub(p.drawn) >= redrawEvery || p.run.Ended {
			p.draw(e.Time)
		}
		return
	}
	if line == "" || may && e.Time.Sub(p.plain) < plainEvery {
		return
	}
	p.plain = e.Time
	fmt.Fprintln(p.w, line)
}

const (
	redrawEvery = 150 * time.Millisecond // at most so often the block is drawn
	plainEvery  = time.Second            // at most so often a line is written that says how it goes; what came of a fixture is always said
)

// quietly takes an entry in and returns its plain line, if it has one; may tells that it may be left out.
func (p *progress) quietly(e session.Entry) (line string, may bool) {
	p.run.Take(&e)
	if e.Kind == core.KindRun && e.Run != nil {
		if p.first = "as found"; e.Run.Work == string(core.Palette) {
			p.first = "as predicted"
		}
		if p.sent = "settling"; e.Run.Work == string(core.Keep) {
			p.sent = "kept"
		}
		if e.Run.Core != nil {
			p.light = e.Run.Core.Plan.Target.Reference
		}
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
	return p.take(e), e.Kind == core.KindAccount || e.Kind == core.KindAside || e.Kind == core.KindFound
}

// take updates the rows and returns the plain line for the event, if it has one.
func (p *progress) take(e session.Entry) string {
	i, known := p.index[e.Fixture]
	if !known {
		return plainEvent(e)
	}
	r := &p.rows[i]
	if r.readings.Take(&e); e.Kind != core.KindAccount {
		r.nth = r.readings.Count
	}
	switch e.Kind {
	case core.KindFound:
		r.state, r.found, r.hasFound = p.first, e.Reading.Delta, true
		r.now, r.hasNow = e.Reading.Delta, true
		return fmt.Sprintf("%s: %s %.4f off", e.Fixture, p.first, e.Reading.Delta)
	case core.KindStep:
		r.state = "moving"
	case core.KindSent:
		r.state = p.sent
	case core.KindReading:
		if r.state = "matching"; e.Fixture == p.light {
			r.state = "being read"
		} else if e.Reading.Delta != 0 { // else nothing is known yet that it could be held against
			r.now, r.hasNow = e.Reading.Delta, true
		}
	case core.KindAside:
		r.words = e.Note
		return fmt.Sprintf("%s: %s", e.Fixture, e.Note)
	case core.KindAccount:
		r.words = e.Account.Words
		return fmt.Sprintf("%s: reading %d: %.4f off; %s", e.Fixture, r.nth, r.now, e.Account.Words)
	case core.KindOutcome, core.KindVerify:
		return p.outcome(r, i, e)
	case core.KindClaim:
		if f := e.Outcome.Final; f != nil {
			r.now, r.hasNow = f.Delta, true
		}
	case core.KindPause:
		r.words = e.Note
		return fmt.Sprintf("%s: %s", e.Fixture, e.Note)
	case core.KindResume, core.KindDrift:
		return plainEvent(e)
	case core.KindReference:
		r.state, r.words = "the reference", e.Note
		return plainEvent(e)
	}
	return ""
}

// outcome takes in how a fixture ended.
func (p *progress) outcome(r *progressRow, i int, e session.Entry) string {
	o := e.Outcome
	// What is predicted is still to be read.
	r.state, r.words, r.wants = o.Result.String(), wordsOf(o), !o.Landed() && o.Result != solve.Predicted
	p.order = append(p.order, i)
	what := r.state
	if e.Kind == core.KindVerify {
		what = "verified: " + what
		r.state += ", verified"
	}
	if o.Found != nil && !o.Found.Computed { // what is on show here was read
		r.found, r.hasFound = o.Found.Delta, true
	}
	if o.Final == nil { // its last setting was not read; others may have been
		if o.Readings == 0 {
			what += ", never read"
		}
		return fmt.Sprintf("%s: %s (%s)", e.Fixture, what, r.words)
	}
	r.now, r.hasNow = o.Final.Delta, true
	return fmt.Sprintf("%s: %s, %.4f off after %s (%s)", e.Fixture, what, o.Final.Delta, r.readings.Words(), r.words)
}

// standsAbove are what a person must hear of the whole run also where only a block of fixtures is drawn.
var standsAbove = map[core.Kind]bool{core.KindSpend: true, core.KindConflict: true}

func plainEvent(e session.Entry) string {
	switch e.Kind {
	case core.KindReference:
		return fmt.Sprintf("reference %s: u' %.4f v' %.4f (%s)", e.Reference.Name, e.Reference.UV.U, e.Reference.UV.V, e.Note)
	case core.KindBackground, core.KindSpill, core.KindConflict, core.KindLevel, core.KindPoint, core.KindSpend, core.KindDrift, core.KindHold, core.KindPause, core.KindResume, core.KindStop, core.KindEnd:
		return e.Note
	}
	return ""
}
