package core

import (
	"fmt"
	"slices"

	"trueup/colorcalc"
)

// A fixture that mixes colours itself may change to other emitters at a step too small to be seen, and its light
// leaps. Such a step is taken back. If that brings the light back, the fixture is left as it stands: the next step
// the same way would leap again.

// leapsFrom is how far, in tolerances, a light must have moved so that a passage can tell where it is.
const leapsFrom = 2

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
	for _, l := range p.lamps {
		l.stays = l.stays || back && l.back != nil
		l.back = nil
	}
	if !back {
		return
	}
	who := "the fixtures that it moved stay as they are"
	if name := p.alone(); name != "" {
		who = name + " stays as it is"
	}
	c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("%s: one small step had moved the light so far; it was taken back, and %s", atProbe(p.name), who)})
}
