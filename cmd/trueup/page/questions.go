package page

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"time"

	"trueup/loop/feed"
	"trueup/loop/session"
)

// questions are put to a person at a page, one at a time, and wait for as long as it takes.
type questions struct {
	board *Board
	one   chan struct{} // holds whoever asks

	mu      sync.Mutex
	last    uint64
	place   string // where the meter is to be taken; "" is nowhere
	pending *Question
	answers chan string
}

// newQuestions numbers its questions from the time on: a page that still shows a question of a
// program that has ended answers none of this one's.
func newQuestions(b *Board) *questions {
	return &questions{board: b, one: make(chan struct{}, 1), last: uint64(time.Now().UnixMilli())}
}

// put asks and returns the answer.
func (q *questions) put(ctx context.Context, what Question) (string, error) {
	select {
	case q.one <- struct{}{}:
	case <-ctx.Done():
		return "", ctx.Err()
	}
	defer func() { <-q.one }()
	answers := make(chan string, 1)
	q.mu.Lock()
	q.last++
	what.ID = q.last
	if what.Kind != dialKind {
		what.Place = q.place
	}
	q.pending, q.answers = &what, answers
	q.mu.Unlock()
	q.board.Top(func(t *Top) { t.Question = &what })
	defer func() {
		q.mu.Lock()
		q.pending = nil
		q.mu.Unlock()
		q.board.Top(func(t *Top) { t.Question = nil })
	}()
	select {
	case text := <-answers:
		return text, nil
	case <-ctx.Done():
		return "", ctx.Err()
	}
}

// answer gives the answer to the question with an id, which must be the one that waits.
func (q *questions) answer(id uint64, text string) error {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.pending == nil || q.pending.ID != id {
		return errors.New("this question has been answered, or is not asked any more")
	}
	if q.pending.Kind == placeKind && text != "" {
		return fmt.Errorf("%q is no answer where the meter is to be taken: want nothing (it is there)", text)
	}
	if q.pending.Kind == dialKind && text != "" && text != "undo" && text != "skip" {
		return fmt.Errorf("%q is no answer to a setting: want nothing (it is set), undo or skip", text)
	}
	q.pending = nil
	q.answers <- text
	return nil
}

const dialKind, readKind, placeKind = "dial", "read", "place"

// takeTo notes where the meter is to be taken, for the questions that come.
func (q *questions) takeTo(place string) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.place = place
}

// read puts a feed's question; it is a [feed.Asker]. undo tells whether the value before may be taken back.
func (q *questions) read(undo bool) feed.Asker {
	return func(ctx context.Context, f feed.Question) (string, error) {
		return q.put(ctx, Question{Kind: readKind, Lamp: f.Fixture, Probe: f.Probe, Dark: f.Dark, Any: f.Any, Problem: f.Problem, Understood: f.Understood, Undo: undo, Skip: f.Skip && !f.Dark})
	}
}

// dial tells a person what to set, and waits until they have; it is what a Job's Dial calls.
func (q *questions) dial(ctx context.Context, h session.HandStep) error {
	var dials []Dial
	for i, s := range h.Set {
		switch {
		case h.Was == nil:
			dials = append(dials, Dial{Name: s.Name, Set: knob(s)})
		case h.Was[i].Value != s.Value:
			dials = append(dials, Dial{Name: s.Name, Was: knob(h.Was[i]), Set: knob(s)})
		}
	}
	if len(dials) == 0 {
		return nil
	}
	text, err := q.put(ctx, Question{Kind: dialKind, Lamp: h.Lamp, Dials: dials, Undo: true, Skip: true})
	switch {
	case err != nil:
		return err
	case text == "undo":
		return feed.ErrUndo
	case text == "skip":
		return session.ErrSkip
	}
	return nil
}

// knob is a value as a knob shows it.
func knob(s session.Setting) string {
	return strings.TrimSpace(strconv.FormatFloat(s.Value, 'f', -1, 64) + " " + s.Unit)
}
