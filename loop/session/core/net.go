package core

import (
	"fmt"
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// leastShare is the fixture's own light, as a part of the background, below which it
// cannot be told from it.
const leastShare = 0.2

// A reading below the dark by so many standard deviations of the meter's level, and no less than leastBelow of the dark each, is not of that dark.
const (
	belowDark  = 5.0
	leastBelow = 0.01
)

// weak says why a reading with the background taken off is no light of the fixture.
type weak struct {
	why      string
	odd      bool    // it can not be: the background is not as it was
	net      float64 // what is left of the reading, lux
	dim      string  // the lamp gives light, and too little beside the background: the two readings in words; "": it may give none
	coloured bool    // it may be, but its meter can not tell its colour
}

// dimShare is the light of a lamp, as a part of the background, from which on it is seen to give some: a background hardly comes by so much just when the lamp is lit.
const dimShare = 0.05

// net takes the background off a reading and attaches its noise. A reading that
// shows no light of the fixture gives a weak instead: one of them decides nothing.
func (c *Core) net(r *Reading) (solve.Reading, *weak) {
	out := solve.Reading{UV: r.UV, Y: r.Y, HasY: r.HasY, SigmaUV: c.noiseAt(r.Probe).sigmaUV(), SigmaLnY: c.noiseAt(r.Probe).sigmaLnY(), RoundXY: r.RoundXY, At: r.At}
	light, w := c.lampLight(r)
	bg := c.background[r.Probe]
	if w != nil || bg == nil || !r.HasY {
		return out, w
	}
	out.UV, out.Y = light.UV(), light.Y
	bg.light = light
	// The background's share dilutes the fixture's colour; taking it off blows the
	// noise up by the same factor. Its own error is common to all readings (see common).
	out.SigmaUV *= r.Y / light.Y
	out.SigmaLnY *= r.Y / light.Y
	return out, nil
}

// lampLight is the light of a reading with the background taken off, in the meter's unit, or why it is no light of the fixture. Where no background
// or no level is known all of it counts.
func (c *Core) lampLight(r *Reading) (colorcalc.XYZ, *weak) {
	if w := noWhite(r); w != nil {
		return colorcalc.XYZ{}, w
	}
	if r.TooDark {
		return colorcalc.XYZ{}, &weak{why: fmt.Sprintf("it is too dark for %s with the fixture lit", atProbe(r.Probe))}
	}
	bg := c.background[r.Probe]
	if bg == nil || !r.HasY {
		return r.XYZ(), nil
	}
	under := bg.Mean()
	light := r.XYZ().Sub(under)
	switch {
	case r.Y < under.Y*(1-leastShare):
		return light, &weak{why: fmt.Sprintf("%s reads %.2f lux with the fixture lit, less than the %.2f lux it read with it dark: something stands in front of the meter, or the background has gone", atProbe(r.Probe), r.Y, under.Y), odd: true, net: light.Y}
	case !(light.Y > leastShare*under.Y):
		return light, &weak{why: fmt.Sprintf("%s reads %.2f lux with the fixture lit and %.2f lux with it dark: too small a share to tell the fixture from the background%s", atProbe(r.Probe), r.Y, under.Y, c.asLit(r.Probe)),
			odd: light.Y < -belowDark*max(c.noiseAt(r.Probe).sigmaLnY(), leastBelow)*under.Y, net: light.Y, dim: c.tooDim(r, under.Y)}
	case !light.XY().Valid():
		return light, &weak{why: fmt.Sprintf("%s: %.2f lux less the background of %.2f lux leaves no possible colour: the background has changed since it was read", atProbe(r.Probe), r.Y, under.Y), odd: true, net: light.Y}
	}
	return light, nil
}

// A dark at a probe that is stillLit times as bright as it was at first, and within likeLit of what a lamp gave there, is perhaps no dark.
const (
	stillLit = 2.0
	likeLit  = 0.02
)

// asLit says, of a dark that has grown by as much as a lamp at its probe gives, what that may be; "" where it has not.
func (c *Core) asLit(probe string) string {
	d := c.background[probe]
	now := d.Mean().Y
	if now < stillLit*d.first.Y {
		return ""
	}
	for _, u := range c.units {
		if own := u.own.Y; u.Info.Probe == probe && own > 0 && math.Abs(now-d.first.Y-own) < likeLit*own {
			return fmt.Sprintf("; so much it read with %s lit: the meter is on hold, or that fixture does not go out", u.Info.Name)
		}
	}
	return ""
}

// weakReadings in a row at the least give a fixture up (see dim): one may be a hand over the meter.
const weakReadings = 3

// noLight is the reason of a fixture that is not seen, or is seen and is too dim or of a colour that its meter can not tell, by so many readings in a row.
func (w *weak) noLight(times int) string {
	switch {
	case w.coloured:
		return fmt.Sprintf("%s, %d times in a row; read it with a meter that tells x and y", w.why, times)
	case w.dim != "":
		return fmt.Sprintf("too little light, %d times in a row: %s", times, w.dim)
	}
	return fmt.Sprintf("no light to speak of, %d times in a row: %s%s", times, w.why, checkLight)
}

// checkLight is what to look at where a fixture gives no light.
const checkLight = "; check its patch, its mode, its power, its level and what the probe looks at"

// tooDim says of a reading of a lamp beside a background, lux, that it gives light and what light would do; "" where it may give none.
func (c *Core) tooDim(r *Reading, under float64) string {
	own := r.Y - under
	if own < max(dimShare, belowDark*c.noiseAt(r.Probe).sigmaLnY())*under {
		return ""
	}
	least, does := leastShare*under, "it could be read at all"
	if fair := lightBeside(under, solve.FairReadings, c.noiseAt(r.Probe).sigmaUV(), c.cfg.Plan.Tolerance); !math.IsInf(fair, 1) && fair > least {
		least, does = fair, fmt.Sprintf("%d readings a setting would do", solve.FairReadings)
	}
	return fmt.Sprintf("%s reads %.4g lux with the fixture lit and %.4g lux with it dark: its own %.3g lux are too small a share; with %.3g lux from it %s: %s",
		atProbe(r.Probe), r.Y, under, own, least, does, moreLight)
}

// askOf asks for a reading of a unit where it stands, not before its light has settled, or a little
// before that (early.go), nor before a moment. A meter that finds it too dark is an answer too, for the unit may
// give no light at all: a person at a meter is not asked so, they see it. So is one that has no figures for its colour.
func (c *Core) askOf(u *unit, after time.Duration) *Ask {
	return &Ask{Probe: u.Info.Probe, After: c.soonest(u, after), Faint: !c.cfg.Plan.HandMeter, Coloured: true}
}
