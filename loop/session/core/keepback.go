package core

import (
	"fmt"
	"slices"
	"strings"

	"trueup/colorcalc"
)

// A fixture that mixes colours itself may change to other emitters at a step too small to be seen, and its light
// leaps. Such a step is taken back. Where that has brought the light back twice, the fixture is left as it stands: the next step the
// same way would leap again, and other light that comes and goes by chance as the step does will hardly do so twice.

// leapsFrom is how far, in tolerances, a light must have moved so that a passage can tell where it is.
const leapsFrom = 2

// mostLeaps of a fixture's light, and it is left as it stands.
const mostLeaps = 2

// trimmedWell takes in that a passage fits after a trim.
func (p *kept) trimmedWell() {
	for _, l := range p.lamps {
		l.back = nil
	}
}

// takeBack plans the way back from a trim since which no passage has fitted, once that is more than one passage's word.
func (p *kept) takeBack(c *Core) (look []move) {
	if p.doubt == "" || p.home != (colorcalc.UV{}) {
		return nil
	}
	home, _ := p.track.Now(c.now)
	if p.from != (colorcalc.UV{}) {
		if home.Dist(p.from) < leapsFrom*c.cfg.Plan.Tolerance {
			return nil
		}
		home = p.from
	}
	for _, l := range p.lamps {
		if l.back == nil || l.held {
			continue
		}
		l.to, l.trimming = l.back, true
		c.decided(l.unit, Step{Action: "trim", Codes: l.to, Words: "the last step is taken back"})
		look = append(look, move{unit: l.unit, drive: slices.Clone(l.to)})
	}
	if len(look) == 0 {
		return nil
	}
	p.home = home
	p.shift.U, p.shift.V = p.shift.U-p.last.U, p.shift.V-p.last.V
	return look
}

// cameBack tells by the first passage after a trim was taken back whether the trim had moved the light.
func (p *kept) cameBack(c *Core, uv colorcalc.UV, level float64) {
	if p.home == (colorcalc.UV{}) {
		return
	}
	home := colorcalc.UV{U: p.home.U + p.shift.U, V: p.home.V + p.shift.V}
	back := uv.Dist(home) < c.cfg.Plan.Tolerance && !(p.level > 0 && level > 0 && lnRatio(level, p.level) > levelJumps)
	p.home = colorcalc.UV{}
	var stay []string
	for _, l := range p.lamps {
		if back && l.back != nil {
			if l.leaps++; l.leaps >= mostLeaps {
				l.stays = true
				stay = append(stay, l.unit.Info.Name)
			}
		}
		l.back = nil
	}
	if !back {
		return
	}
	note := fmt.Sprintf("%s: one small step had moved the light so far; it was taken back", atProbe(p.name))
	if len(stay) > 0 {
		note += fmt.Sprintf(", for the second time: %s takes no more steps", strings.Join(stay, ", "))
	}
	c.enter(Entry{Kind: KindLevel, Note: note})
}
