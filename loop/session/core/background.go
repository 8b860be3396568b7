package core

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
)

// background is the light at a probe with every lamp of the run dark.
type background struct {
	xyz      colorcalc.XYZ // mean
	readings int           // behind it
}

// backgroundReadings of a dark stage are taken, so that one wrong among them is
// outvoted (a gate about the median of five).
const backgroundReadings = 5

// backgrounds takes every unit of the run down (they mostly are) and reads each
// probe that units are read by. A probe without a level, or one too dark for its
// meter, has no background to take off: that is said, not guessed.
type backgrounds struct {
	again   bool // at the end of the run: what has changed is said, nothing is taken off
	began   bool
	probes  []string
	settled time.Duration
	got     []Reading // of probes[0]
}

func (b *backgrounds) unit() *unit { return nil }

func (b *backgrounds) step(c *Core, in input) want {
	switch {
	case in.refused != "":
		return want{fail: fmt.Errorf("fading out for the background: %s", in.refused)}
	case in.arrived != nil:
		b.settled += in.arrived.At
	case in.reading != nil:
		b.got = append(b.got, *in.reading)
	case !b.began:
		b.began = true
		for _, u := range c.units {
			if u.Head < 0 {
				continue
			}
			_, read := c.background[u.Info.Probe]
			if !slices.Contains(b.probes, u.Info.Probe) && (read || !b.again) {
				b.probes = append(b.probes, u.Info.Probe)
			}
			b.settled = max(b.settled, u.settle)
		}
		if len(b.probes) == 0 {
			return want{next: true}
		}
		return want{dark: true}
	}
	for len(b.probes) > 0 {
		if !b.enough() {
			return want{read: &Ask{Probe: b.probes[0], After: b.settled, Dark: true}}
		}
		c.keepBackground(b.probes[0], b.got, b.again)
		b.got, b.probes = nil, b.probes[1:]
	}
	return want{next: true}
}

// enough tells whether the probe has been read. One reading that is too dark or tells
// no level is confirmed by a second.
func (b *backgrounds) enough() bool {
	n := len(b.got)
	if n < 2 {
		return false
	}
	bare := func(r Reading) bool { return r.TooDark || !r.HasY }
	return n >= backgroundReadings || bare(b.got[n-1]) && bare(b.got[n-2])
}

// keepBackground takes the readings of a dark probe in.
func (c *Core) keepBackground(probe string, got []Reading, again bool) {
	var lit []Reading
	dark := 0
	for _, r := range got {
		switch {
		case r.TooDark:
			dark++
		case r.HasY:
			lit = append(lit, r)
		}
		m := Measured{UV: r.UV, RawUV: r.UV, Lux: r.Y, RawLux: r.Y, Probe: probe, MeterSeq: r.Seq, IntegrationS: r.Integration.Seconds()}
		c.enter(Entry{Kind: kindDark(again), Reading: &m})
	}
	if len(lit) <= len(got)/2 {
		if again {
			return
		}
		note := fmt.Sprintf("probe %q tells no level: the background stays in the readings", probe)
		if dark > 0 {
			note = fmt.Sprintf("probe %q is too dark for its meter with the lamps out: nothing is taken off", probe)
		}
		c.enter(Entry{Kind: KindBackground, Note: note})
		return
	}
	mean, n := meanXYZ(lit)
	m := Measured{UV: mean.UV(), RawUV: mean.UV(), Lux: mean.Y, RawLux: mean.Y, Probe: probe}
	if !again {
		c.background[probe] = background{mean, n}
		c.enter(Entry{Kind: KindBackground, Reading: &m, Note: fmt.Sprintf("background at probe %q: %.2f lux, mean of %d readings, taken off every reading", probe, mean.Y, n)})
		return
	}
	e := Entry{Kind: KindDrift, Reading: &m}
	was := c.background[probe].xyz
	if moved := c.driftEffect(probe, mean.Sub(was)); moved > c.cfg.Plan.Tolerance/2 {
		e.Note = fmt.Sprintf("the background at probe %q went from %.2f to %.2f lux during the run: results read there may be off by up to %.4f; find what changed, or match again", probe, was.Y, mean.Y, moved)
	}
	c.enter(e)
}

func kindDark(again bool) Kind {
	if again {
		return KindDrift
	}
	return KindBackground
}

// meanXYZ is the mean of readings without those whose level lies far from the
// median: more than five robust standard deviations (1.4826 times the median
// deviation), and more than a hundredth of the median, which no drift of that size
// matters for.
func meanXYZ(got []Reading) (colorcalc.XYZ, int) {
	level := make([]float64, len(got))
	for i, r := range got {
		level[i] = r.Y
	}
	mid := median(level)
	for i, y := range level {
		level[i] = math.Abs(y - mid)
	}
	gate := max(5*1.4826*median(level), 0.01*mid)
	var sum colorcalc.XYZ
	n := 0
	for i, r := range got {
		if level[i] <= gate {
			sum = sum.Add(r.XYZ())
			n++
		}
	}
	return sum.Scale(1 / float64(n)), n
}

// driftEffect is how far an unnoticed change of background moves the colour of
// the weakest light that was read by the probe.
func (c *Core) driftEffect(probe string, change colorcalc.XYZ) float64 {
	weakest := math.Inf(1)
	for _, u := range c.units {
		if u.Info.Probe == probe && u.outcome != nil && u.outcome.Final != nil && u.outcome.Final.Lux > 0 {
			weakest = min(weakest, u.outcome.Final.Lux)
		}
	}
	if math.IsInf(weakest, 1) {
		return 0
	}
	return c.ref.UV.XYZ(weakest).Add(change).UV().Dist(c.ref.UV)
}
