package stage

import (
	"math"
	"math/rand/v2"
	"time"

	"trueup/colorcalc"
)

// Passers are people who walk through the beams in front of a meter: they stay for some seconds, take a part of the light, and what they
// wear colours the rest a little. They depend on seed and name alone. Not for use by several goroutines at once.
type Passers struct {
	every time.Duration
	r     *rand.Rand
	all   []passer
}

// passer is one of them.
type passer struct {
	begin, end time.Duration
	takes      float64      // of the light, at the most
	tint       colorcalc.UV // for all of the light taken
}

// A passer takes so long to step in, and again to step out.
const passerStep = 400 * time.Millisecond

// NewPassers has somebody pass about once in every; 0 is never.
func NewPassers(every time.Duration, seed uint64, name string) *Passers {
	return &Passers{every: every, r: source(seed, "passers/"+name)}
}

// Through is what reaches the meter of a light at a moment since the stage began.
func (p *Passers) Through(c colorcalc.XYZ, t time.Duration) colorcalc.XYZ {
	if p.every <= 0 {
		return c
	}
	last := time.Duration(0)
	if n := len(p.all); n > 0 {
		last = p.all[n-1].end
	}
	for last <= t {
		begin := last + nowAndThen(p.every, p.r)
		last = begin + time.Duration((2+4*p.r.Float64())*float64(time.Second))
		way := 2 * math.Pi * p.r.Float64()
		off := 0.012 * p.r.Float64()
		p.all = append(p.all, passer{begin, last, 0.05 + 0.35*p.r.Float64(), colorcalc.UV{U: off * math.Cos(way), V: off * math.Sin(way)}})
	}
	for i := range p.all {
		if w := &p.all[i]; t >= w.begin && t < w.end {
			part := w.takes * min(1, min(t-w.begin, w.end-t).Seconds()/passerStep.Seconds())
			uv := c.UV()
			uv.U, uv.V = uv.U+part*w.tint.U, uv.V+part*w.tint.V
			return uv.XYZ(c.Y * (1 - part))
		}
	}
	return c
}
