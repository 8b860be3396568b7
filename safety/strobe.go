package safety

import (
	"fmt"
	"math"
)

// rate of flashes at a code of a Strobe slot; 0 at the open value.
func (r *SlotRule) rate(code uint32) (Hertz, error) {
	g := r.Range
	if code == r.Safe {
		return 0, nil
	}
	if code < g.LoCode || code > g.HiCode {
		return 0, fmt.Errorf("%q: code %d is neither open (%d) nor a known flash rate (%d..%d)", r.Name, code, r.Safe, g.LoCode, g.HiCode)
	}
	if g.HiCode == g.LoCode {
		return max(g.LoHz, g.HiHz), nil
	}
	t := float64(code-g.LoCode) / float64(g.HiCode-g.LoCode)
	return g.LoHz + Hertz(t)*(g.HiHz-g.LoHz), nil
}

// strobes checks a wish for flashing against the sum over all heads. Flash
// rates are refused, never bent: a rate nobody asked for helps nobody.
func (g *Governor) strobes(h *head, codes, goal []uint32) error {
	if !g.limits.Strobe.Allowed {
		return nil
	}
	sum := Hertz(0)
	for _, o := range g.heads {
		for i := range o.axes {
			a := &o.axes[i]
			if a.rule.Kind != StrobeSlot {
				continue
			}
			c := o.goal[i]
			if !o.taken && !o.fresh {
				c = a.rule.Safe // the desk's strobe is the desk's show
			}
			if o == h {
				c = codes[i]
				goal[i] = c
			}
			hz, err := a.rule.rate(c)
			if o == h && err != nil {
				return err
			}
			sum += hz
		}
	}
	if most := min(g.limits.Strobe.Max, StrobeCeiling); sum > most {
		return fmt.Errorf("all heads together would flash at %v; the limit is %v", sum, most)
	}
	return nil
}

// swingsOf is how many swings a second a flash rate makes.
func swingsOf(hz Hertz) int { return int(math.Ceil(2 * float64(hz))) }

// budget is how many opposing swings the sliding second may hold beside the
// strobes that run, or ran inside it.
func (g *Governor) budget() int {
	hz := g.strobe
	if g.time < g.strobeTill {
		hz = max(hz, g.strobeHigh)
	}
	return max(MaxSwings-swingsOf(hz), 0)
}

// shut opens the shutter of a head that moves: nothing flashes on the way.
func (g *Governor) shut(h *head) {
	for i := range h.axes {
		if a := &h.axes[i]; a.rule.Kind == StrobeSlot {
			hz, _ := a.rule.rate(a.code)
			if g.time >= g.strobeTill {
				g.strobeHigh = 0
			}
			if hz > 0 {
				g.strobeHigh, g.strobeTill = max(g.strobeHigh, g.strobe), g.time+window
			}
			g.strobe = max(g.strobe-hz, 0)
			a.code, a.next, a.way = a.rule.Safe, a.rule.Safe, a.rule.Safe
		}
	}
}

// flashing starts a wished strobe, once the head has arrived; false means that
// the sliding second has no room for it yet.
func (g *Governor) flashing(h *head) bool {
	for i := range h.axes {
		a := &h.axes[i]
		if a.rule.Kind != StrobeSlot || a.code == h.goal[i] {
			continue
		}
		hz, err := a.rule.rate(h.goal[i])
		if err != nil {
			return true // not reachable: Wish refused it
		}
		if g.strobe+hz > g.limits.Strobe.Max+near || g.guard.count(g.time)+swingsOf(g.strobe+hz) > MaxSwings || g.time < g.strobeTill {
			return false
		}
		g.strobe += hz
		a.code, a.next, a.way = h.goal[i], h.goal[i], h.goal[i]
	}
	return true
}
