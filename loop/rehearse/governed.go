package rehearse

import (
	"slices"
	"time"

	"trueup/dmx"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/loop/stage"
	"trueup/safety"
)

// The wire's clock: frames are made where the sender makes its own, and what moves has moved since the one before the wish, as it
// does there. Between moves one universe alone keeps the governor's time, in steps that it takes whole, and all are visited
// before the governor would think the machine asleep.
const (
	frame   = time.Second / 44
	idle    = safety.MaxStep / frame * frame
	visited = time.Second // below safety.LostAfter
)

// epoch is the governor's time at the beginning of a run. Any would do.
var epoch = time.Unix(0, 0)

// governed is a Wire through the governor: a wish becomes frames, and frames set the lamps of a hall.
type governed struct {
	w      *World
	gov    *safety.Governor
	hall   *stage.Hall
	at     []dmx.Universe                                    // of each head
	moving []int                                             // heads that have not arrived
	active map[dmx.Universe]int                              // heads moving in it
	unis   []dmx.Universe                                    // all
	slow   dmx.Universe                                      // the one that keeps the time
	seen   time.Duration                                     // when all were visited last
	due    time.Duration                                     // the next frame
	watch  func(at time.Time, u dmx.Universe, levels []byte) // sees every frame; may be nil
}

// govern makes the wire of heads; start is the look that the run begins with.
func govern(w *World, cfg safety.Config, hall *stage.Hall) (*governed, error) {
	gov, err := safety.NewGovernor(cfg)
	if err != nil {
		return nil, err
	}
	g := &governed{w: w, gov: gov, hall: hall, unis: gov.Universes(), active: map[dmx.Universe]int{}}
	heads := map[dmx.Universe]int{}
	for _, h := range cfg.Heads {
		g.at = append(g.at, h.Universe)
		heads[h.Universe]++
	}
	g.slow = slices.MinFunc(g.unis, func(a, b dmx.Universe) int { return heads[a] - heads[b] })
	for _, u := range g.unis {
		g.make(u, 0, true)
	}
	g.next(frame)
	return g, nil
}

// next plans the next frame; one that was planned for another moment is not made.
func (g *governed) next(at time.Duration) {
	g.due = at
	g.w.At(at, func() {
		if g.due == at {
			g.tick()
		}
	})
}

// make makes the frame of a universe at a moment; what moved is put on the lamps.
func (g *governed) make(u dmx.Universe, at time.Duration, show bool) {
	var levels [512]byte
	n := g.gov.Levels(epoch.Add(at), u, &levels)
	if g.watch != nil {
		g.watch(epoch.Add(at), u, levels[:n])
	}
	if show {
		g.hall.Leap(g.w.before + g.w.Now())
		g.hall.Levels(u, levels[:n])
	}
}

// Wish implements Wire.
func (g *governed) Wish(head int, codes solve.Drive) {
	u := g.at[head]
	last := g.w.Now().Truncate(frame)
	if g.active[u] == 0 {
		g.make(u, last, false) // which was not worth making before
	}
	if err := g.gov.Wish(head, codes); err != nil {
		g.w.Tell(core.Event{Kind: core.Refused, Head: head, Why: err.Error()})
		return
	}
	if !slices.Contains(g.moving, head) {
		g.moving = append(g.moving, head)
		g.active[u]++
	}
	if at := last + frame; at < g.due {
		g.next(at)
	}
}

// tick makes the frames of one moment, and plans the next.
func (g *governed) tick() {
	g.gov.Alive()
	all := g.w.Now()-g.seen >= visited
	if all {
		g.seen = g.w.Now()
	}
	releasing, _ := g.gov.Stage()
	kept := false
	for _, u := range g.unis {
		moves := g.active[u] > 0 || releasing != safety.Running
		if moves || all {
			g.make(u, g.w.Now(), moves)
			kept = true
		}
	}
	if !kept {
		g.make(g.slow, g.w.Now(), false)
	}
	g.arrivals()
	if len(g.moving) > 0 || releasing != safety.Running {
		g.next(g.w.Now() + frame)
	} else {
		g.next(g.w.Now() + idle)
	}
}

// arrivals tells the run which heads stand, and which are held.
func (g *governed) arrivals() {
	g.moving = slices.DeleteFunc(g.moving, func(head int) bool {
		e := core.Event{Kind: core.Arrived, Head: head}
		if why := g.gov.Held(head); why != "" {
			e.Kind, e.Why = core.Refused, why
		} else if at, ok := g.gov.Arrived(head); ok {
			e.Sent, e.When = g.gov.Sent(head), at.Sub(epoch)
		} else {
			return false
		}
		g.active[g.at[head]]--
		g.w.Tell(e)
		return true
	})
}

// handBack ends the run as a door does, and tells how long the lamps take to their rest.
func (g *governed) handBack(longest time.Duration) time.Duration {
	g.gov.Release("the run is over")
	began := g.w.Now()
	for now := began; now-began < longest; now += frame {
		for _, u := range g.unis {
			var levels [512]byte
			g.gov.Levels(epoch.Add(now), u, &levels)
		}
		if stage, _ := g.gov.Stage(); stage == safety.Done {
			return now - began
		}
	}
	return longest
}
