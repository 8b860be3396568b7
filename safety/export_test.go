package safety

import "time"

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
		g.guard = guards{}
	case "jump":
		g.limits.Rise, g.limits.Fall, g.limits.Colour = 1000, 1000, 1000
	case "product":
		for _, h := range g.heads {
			h.cross = false
		}
	case "panic at rest": // comes out only when the frame is written
		g.heads[0].pins[0].rule = nil
	case "panic":
		g.heads[0].axes[0].rule = nil
		g.heads[0].moving = true
	default:
		panic(kind)
	}
}
