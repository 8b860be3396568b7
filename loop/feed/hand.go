package feed

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"trueup/colorcalc"
	"trueup/loop/feed/instrument"
)

// Question is what a person at a meter without a data link is asked.
type Question struct {
	Probe string // where to measure; "" where the rig has one place
	// Fixture is whose light is to be read; "" where that is not known, or is the light of none. A run says it, no feed does.
	Fixture string
	Dark    bool // the lamps are out; "dark" says that the meter shows nothing
	Any     bool // a lamp is lit, of whatever colour; "none" says that the meter shows no figures for it
	// Problem says why the last answer was not taken; "" at first.
	Problem string
	// Understood is how the last answer was read. When it is set, an empty
	// answer says yes to it, and any other takes its place.
	Understood string
	Undo, Skip bool // the answers undo and skip are taken too
}

// Asker puts a question to a person and waits, for as long as it takes.
type Asker func(ctx context.Context, q Question) (answer string, err error)

// ErrUndo is returned instead of a reading by a person who found that the last
// one they gave was wrong (Config.Undo).
var ErrUndo = errors.New("the last value was wrong")

// ErrSkip is returned instead of a reading by a person who leaves the fixture that it was to be of (Config.Skip).
var ErrSkip = errors.New("skipped by a person")

// hand is a person who reads a display aloud. A question is put only when a
// reading is wanted and the light has settled; what comes back was measured
// between question and answer.
type hand struct {
	ask  Asker
	undo bool
	skip bool
	left demand // the last one that was answered with skip
	last map[string]colorcalc.UV
}

func newHand(c Config) (transport, error) {
	if c.Ask == nil {
		return nil, fmt.Errorf("feed %s: a person reads this meter; run 'trueup byhand' for the fixtures that are set by hand", c.Name)
	}
	return &hand{ask: c.Ask, undo: c.Undo, skip: c.Skip, last: map[string]colorcalc.UV{}}, nil
}

func (h *hand) run(ctx context.Context, f *Feed) error {
	newLink(f).up()
	for {
		select {
		case d := <-f.demand:
			if !f.needed(d) {
				continue
			}
			if err := h.answer(ctx, f, d); err != nil {
				return err
			}
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

func (h *hand) answer(ctx context.Context, f *Feed, d demand) error {
	if wait := time.Until(d.settled); wait > 0 {
		select {
		case <-time.After(wait):
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	asked := time.Now()
	q := Question{Probe: d.probe, Dark: d.dark && !d.any, Any: d.any, Undo: h.undo, Skip: h.skip}
	if h.left.over != nil && h.left.probe == d.probe && h.left.dark == d.dark && h.left.settled.Equal(d.settled) {
		q.Problem = "this reading is needed for other fixtures too, and can not be skipped: type what the meter shows"
	}
	var held *instrument.Draft
	for {
		text, err := h.ask(ctx, q)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case errors.Is(err, io.EOF):
			return &refusal{ErrEnded}
		case err != nil:
			return refuse("asking for a reading: %w", err)
		}
		switch text = strings.TrimSpace(text); {
		case text == "" && held != nil:
			f.take(*held, time.Now())
			if !bare(held.Flags) {
				h.last[d.probe] = held.UV
			}
			return nil
		case text == "":
			q.Problem = "type what the meter shows, such as 4310 -0.002 or 0.3412 0.3553"
		case h.undo && text == "undo":
			delete(h.last, d.probe)
			f.fail(d, ErrUndo)
			return nil
		case h.skip && text == "skip":
			h.left = d
			f.fail(d, ErrSkip)
			return nil
		default:
			if typed := h.understand(text, held, &q); typed != nil {
				typed.Probe, typed.Asked = d.probe, asked
				held = typed
			}
		}
	}
}

// understand reads an answer, and says in q what was understood of it and what
// is wrong with it. held is what was understood before, nil for nothing; it
// stays open to a yes.
func (h *hand) understand(text string, held *instrument.Draft, q *Question) *instrument.Draft {
	if held != nil && held.Flags.Has(NoDuv) {
		text = instrument.WithDuv(held.Raw, text)
	}
	typed, words, err := instrument.ReadTyped(text)
	if err != nil {
		q.Problem = err.Error()
		if q.Any {
			q.Problem += "; none says that it has no figures for this colour"
		}
		return nil
	}
	if typed.Flags.Has(Underrange) && !q.Dark {
		q.Problem = "a colour is wanted here: is the fixture lit, and the meter close enough?"
		return nil
	}
	if typed.Flags.Has(NotWhite) && !q.Any {
		q.Problem = "figures are wanted here: is it white light that the meter looks at?"
		return nil
	}
	q.Problem, q.Understood = "", words
	if typed.Flags.Has(NoDuv) {
		q.Problem = "that is a temperature alone: what does the meter show as Duv? Type it, such as -0.002"
	}
	if !bare(typed.Flags) {
		q.Understood += h.compare(q.Probe, typed.UV)
	}
	return &typed
}

// farOff in u'v' is more than a match moves between two readings of one place
// without somebody having expected it: a hundred steps of tolerance.
const farOff = 0.05

func (h *hand) compare(probe string, uv colorcalc.UV) string {
	last, ok := h.last[probe]
	if !ok {
		return ""
	}
	d := last.Dist(uv)
	said := colorcalc.Describe(last.XY(), uv.XY())
	words := ", " + said + " than the last"
	switch {
	case d < 1e-6:
		words = ", the same as the last"
	case said == colorcalc.Alike:
		words = ", to the eye the same as the last"
	}
	if d > farOff {
		words += "; that is far off: is it right?"
	}
	return words
}
