package safety

import (
	"fmt"
	"time"
)

// Break makes a governor break one of its promises, to show that the checker
// sees it.
func (g *Governor) Break(kind string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	switch kind {
	case "rise":
		g.limits.Rise *= 1.5
	case "fall":
		g.limits.Fall *= 1.5
	case "colour":
		g.limits.Colour *= 1.5
	case "cap":
		for _, h := range g.heads {
			h.cap = 1
		}
	case "emitter cap":
		for _, h := range g.heads {
			for i := range h.axes {
				h.axes[i].rule.Cap = 1
			}
		}
	case "pinned":
		g.heads[0].pins[0].code++
	case "never":
		g.heads[0].never[0].code++
	case "full":
		g.limits.MaxFullTime = 24 * time.Hour
	case "aloft":
		g.limits.KeepLight = 0.01
	case "strobe":
		g.limits.Strobe.Max = StrobeCeiling
	case "foreign":
		for _, u := range g.unis {
			u.frame[511] = 1
			u.slots = 512
		}
	case "flash":
		g.guard = guard{}
	case "jump":
		for _, h := range g.heads {
			if h.moving {
				h.rate = 1000
				h.cross = false
			}
		}
	case "product":
		for _, h := range g.heads {
			h.cross = false
		}
	case "panic":
		g.heads[0].axes[0].rule = nil
		g.heads[0].moving = true
	default:
		panic(kind)
	}
}

func (g *Governor) Dump() {
	println("stage", g.stage, "time", g.time.String(), "budget", g.budget(), "strobe", g.strobe, g.guard.light.n, g.guard.red.n, "rise", int(g.limits.Rise*1000), int(g.limits.Fall*1000))
	for _, h := range g.heads {
		println(h.spec.Name, "taken", h.taken, "moving", h.moving, "fresh", h.fresh, "leg", h.leg, "s*1e6", int(h.s*1e6), "rate*1e6", int(h.rate*1e6), "resting", h.resting, h.cross, "broken", h.broken, h.held)
	}
}

func (g *Governor) Light(i int) string {
	h := g.heads[i]
	return fmt.Sprintf("light %.4f cap %.4f full %v tired %v taken %v moving %v fresh %v leg %d s %.4f rate %.4f cross %v guard %d+%d held %d red %v", h.light(false), h.cap, h.full, h.tired, h.taken, h.moving, h.fresh, h.leg, h.s, h.rate, h.cross, g.guard.light.n, g.guard.red.n, g.held, h.red)
}
