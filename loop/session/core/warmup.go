package core

import (
	"fmt"
	"time"

	"trueup/loop/solve"
)

// warmUp lights every unit at its working level and waits, so that what drifts
// with heat has drifted before anything is judged. Lamps that share a probe go
// out again one after another while one of them is read; they cool more slowly
// than they warmed.
type warmUp struct {
	began bool
	left  []*unit
	at    *unit
}

func (w *warmUp) unit() *unit { return nil }

func (w *warmUp) step(c *Core, in input) want {
	switch {
	case !w.began:
		w.began = true
		c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("warming up all fixtures for %s", c.cfg.Plan.WarmUp.Round(time.Second))})
		c.each(func(u *unit) { w.left = append(w.left, u) })
	case in.refused != "":
		return want{fail: fmt.Errorf("warming up: %s: %s", w.at.Info.Name, in.refused)}
	case in.woke:
		return want{next: true}
	}
	for len(w.left) > 0 {
		w.at, w.left = w.left[0], w.left[1:]
		m, err := c.matchFrom(w.at, nil)
		if err != nil {
			return want{fail: err}
		}
		d := m.Next(c.now)
		if d.Action != solve.Move {
			continue
		}
		c.decided(w.at, Step{Action: "warm up", Codes: d.Drive})
		return want{set: &move{unit: w.at, drive: d.Drive, keepOthers: true}}
	}
	return want{until: c.now + c.cfg.Plan.WarmUp}
}
