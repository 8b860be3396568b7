package looptest

import (
	"slices"
	"strings"
	"testing"
	"time"

	"trueup/loop/solve"
)

// watcher notes where a match stands when it looks elsewhere, and where it goes next.
type watcher struct {
	Controller
	t      *testing.T
	stands solve.Drive
	left   solve.Drive // where it looked landed; nil: it does not look elsewhere
	looks  *int
}

func (w *watcher) Next(at time.Duration) solve.Decision {
	d := w.Controller.Next(at)
	if d.Action != solve.Move {
		return d
	}
	if w.left != nil && !slices.Equal(d.Drive, w.left) {
		w.t.Errorf("left %v for a look, then went to %v: %s", w.left, d.Drive, d.Reason)
	}
	w.left = nil
	if strings.Contains(d.Reason, "a look at a setting") {
		w.left = w.stands
		*w.looks++
	}
	w.stands = d.Drive
	return d
}

// A lamp that looks landed and is looked at elsewhere, to tell by which scale it runs, goes straight back to where it looked landed: what the far
// setting teaches is not needed to find that again.
func TestALookElsewhereGoesStraightBack(t *testing.T) {
	looks := 0
	m := Method{"watched", func(s solve.Spec, to solve.Target, o solve.Options) (Controller, error) {
		c, err := solve.New(s, to, nil, o)
		return &watcher{Controller: c, t: t, looks: &looks}, err
	}}
	for _, cl := range append(Classes(), Faults()...) {
		if !strings.Contains(cl.Name, "cct") && (cl.Fault == nil || cl.Fault.Cause != solve.WrongScale) {
			continue
		}
		for n := range 60 {
			cl.NewCase(5, n).Play(m)
		}
	}
	if looks < 5 {
		t.Errorf("%d looks: too few to tell", looks)
	}
}
