package looptest

import (
	"fmt"
	"time"

	"trueup/loop/solve"
)

// idle is the pause between two targets of one unit, seconds: the next match
// begins as soon as the last one ends.
const idle = 0.1

// KnownUnit plays several targets one after the other on one unit, keeping what
// was learnt of it. The k-th element scores the k-th target, colder by nothing:
// the lamp stays lit and warms on.
func (cl Class) KnownUnit(seed uint64, n, targets int) []Run {
	first := cl.Unit(seed, uint64(n), fmt.Sprint(n), 0)
	w := first.Start()
	var known *solve.Prior
	var out []Run
	for k := range targets {
		c := cl.Unit(seed, uint64(n), fmt.Sprint(n), k)
		m, err := solve.New(c.Spec, c.Target, known, c.Options)
		if err != nil {
			return append(out, Run{Broken: err.Error()})
		}
		w.Case.Target, w.Case.Reachable = c.Target, c.Reachable
		out = append(out, w.Match(m, c.Target))
		p := m.Posterior()
		p.IdleSeconds = idle
		known = &p
	}
	return out
}

// Teacher carries what units of one profile have in common from one to the next.
type Teacher interface {
	// Prior is what the next unit starts from; nil for nothing.
	Prior() *solve.Prior
	// Learn takes a unit's posterior.
	Learn(solve.Prior)
}

// Batch plays one target on unit after unit of one kind. odd, if not negative,
// is a unit from far outside the bins.
func (cl Class) Batch(seed, kind uint64, units, odd int, t Teacher) []Run {
	var out []Run
	for k := range units {
		c := cl
		if k == odd {
			c.Spread = 4
		}
		one := c.Unit(seed, kind, fmt.Sprintf("%d/%d", kind, k), 0)
		m, err := solve.New(one.Spec, one.Target, t.Prior(), one.Options)
		if err != nil {
			return append(out, Run{Broken: err.Error()})
		}
		out = append(out, one.Start().Match(m, one.Target))
		t.Learn(m.Posterior())
	}
	return out
}

// Later is what became of a match some time after its end.
type Later struct {
	Run   Run     // the match
	After float64 // true error after the wait
	Trim  Run     // the match that put it right again, from what was learnt
}

// Wait plays a match and leaves the lamp lit for a while. A controller that
// keeps what it learnt is then asked to trim it.
func (c *Case) Wait(m Method, d time.Duration) (Later, error) {
	ctl, err := m.New(c.Spec, c.Target, c.Options)
	if err != nil {
		return Later{}, err
	}
	w := c.Start()
	l := Later{Run: w.Match(ctl, c.Target)}
	w.Plant.Advance(d)
	l.After = w.light(w.Plant.Light()).UV().Dist(c.Target.UV)
	ours, ok := ctl.(*solve.Match)
	if !ok {
		return l, nil
	}
	p := ours.Posterior()
	again, err := solve.New(c.Spec, c.Target, &p, c.Options)
	if err != nil {
		return l, err
	}
	l.Trim = w.Match(again, c.Target)
	return l, nil
}
