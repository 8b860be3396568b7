package core

import (
	"fmt"

	"trueup/colorcalc"
	"trueup/loop/solve"

	"trueup/profiles/printable"
)

// warmUpWhite is the white that lamps warm up at while the reference has not been read:
// daylight D50 (CIE 15, table T.3: x 0.3457, y 0.3585).
var warmUpWhite = colorcalc.XY{X: 0.3457, Y: 0.3585}.UV()

// warmUp lights every unit at its working level and waits, so that what drifts
// with heat has drifted before anything is judged, background and reference too. The reference
// is not known yet: lamps stand at a white meanwhile, which takes about the same power. Lamps that share a probe go
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
		c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("warming up all fixtures for %s", printable.Span(c.cfg.Plan.WarmUp))})
		for _, u := range c.units {
			if u.Head >= 0 {
				w.left = append(w.left, u)
			}
		}
	case in.refused != "":
		return want{fail: fmt.Errorf("warming up: %s: %s", w.at.Info.Name, in.refused)}
	case in.woke:
		return want{next: true}
	}
	for len(w.left) > 0 {
		w.at, w.left = w.left[0], w.left[1:]
		drive := w.at.Lit
		if c.ours(w.at) {
			m, err := c.matchFrom(w.at, nil, 0)
			if err != nil {
				return want{fail: err}
			}
			d := m.Next(c.now)
			if d.Action != solve.Move {
				continue
			}
			drive = d.Drive
		}
		c.decided(w.at, Step{Action: "warm up", Codes: drive})
		return want{set: &move{unit: w.at, drive: drive, keepOthers: true}}
	}
	return want{until: c.now + c.cfg.Plan.WarmUp}
}
