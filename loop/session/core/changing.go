package core

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// Beside a light that changes all the time another one may come and stay. A look at the dark tells it from that light where it lies outside of all that
// was seen of it: then what was read since the look before is read again. Such looks are made between the rounds and at the end, where the level of
// a lamp is farther from what was foretold than that light goes, and now and then between two lamps. What they see of that light is
// added to what is known of it.

// Figures of a light that changes all the time.
const (
	fewestLights = 3                // jumps that tell how far it goes
	changePause  = 45 * time.Second // between two looks at it, where lamps were read since
	changeFar    = 3.0              // standard deviations of each axis of u'v' from its mean, and
	changeFarY   = 3.5              // of its level: what lies farther is watched, and is another light if it stays so
	mostChanges  = 600              // readings that are kept of it, the last
	boundPart    = 0.5              // of the most by which it moves a lamp: with readings whose noise fills up the tolerance, 92 of 100 claims hold if it is that far off all the time, up to .7 of it
	twoLights    = 0.1              // of the way between its two lights, within which one that goes on and off is at one of them
	calmLooks    = 5                // like looks at the dark, each half as long after the last as it stands, by which it had not begun,
	calmTimes    = 4                // and for how many times that long they went on
)

// changing is what was seen of a light that changes all the time, with the dark that it comes on top of.
type changing struct {
	lights []colorcalc.XYZ // as they were read
	pieces int             // lights among them, each of which may be of several readings
	since  time.Duration   // of the look that saw it come to where it is, or change all the time

	// By the lights, reckoned as they are kept: each lamp is held against them, time and again.
	middle colorcalc.XYZ   // what the background is taken to be: the middle of its two lights where it is at one of two, and else the mean of what was seen
	by     []colorcalc.XYZ // the lights, less that
	two    bool            // it was at one of two lights all the time
}

// changingOf is a light that was seen to be these, of so many pieces, since a moment.
func changingOf(lights []colorcalc.XYZ, pieces int, since time.Duration) changing {
	s := changing{lights: lights, pieces: pieces, since: since}
	s.reckon()
	return s
}

// calm is from which look at the dark to which one a light that blinks now did not: they lie between two of its changes, or before the first, were all as the ones
// before, and so many and spread so far that it would have been met if it had stood no longer than it has since. None: both are 0.
func (d *dark) calm() (from, to time.Duration) {
	stood := time.Duration(0)
	for i := len(d.jumps) - 1; i >= 0; i-- {
		began := time.Duration(0)
		if i > 0 {
			began = d.jumps[i-1].At
		}
		if stood > 0 {
			if from, to = d.likeLooks(began, d.jumps[i].Since, stood); to > 0 {
				return from, to
			}
		}
		if i > 0 {
			stood = max(stood, d.jumps[i].At-began)
		}
	}
	return 0, 0
}

// calmAt tells whether a claim is of a time when a light that blinks now did not, and keeps that.
func (d *dark) calmAt(k *claim) bool {
	if !k.calm && k.share < 1 {
		from, to := d.calm()
		k.calm = k.at > from && k.at <= to
	}
	return k.calm
}

// likeLooks are the first and the last of the looks in a time, if they are enough to tell of a light that stands for so long that it did not change there; else 0.
func (d *dark) likeLooks(began, until, stood time.Duration) (from, to time.Duration) {
	met, last := 0, time.Duration(0)
	for _, at := range d.looks {
		if at < began || at > until {
			continue
		}
		if met == 0 {
			from = at
		}
		if to = at; met == 0 || at-last >= stood/2 {
			met, last = met+1, at
		}
	}
	if met < calmLooks || to-from < calmTimes*stood {
		return 0, 0
	}
	return from, to
}

// saw keeps the lights of a passage, of so many pieces.
func (s *changing) saw(z []colorcalc.XYZ, pieces int) {
	s.lights = append(s.lights, z...)
	s.lights = s.lights[max(0, len(s.lights)-mostChanges):]
	s.pieces += pieces
	s.reckon()
}

// reckon takes in where its lights lie.
func (s *changing) reckon() {
	s.middle = scene.MeanOf(s.lights)
	var middle colorcalc.XYZ
	if middle, s.two = s.between(); s.two && s.tell() {
		s.middle = middle
	}
	s.by = make([]colorcalc.XYZ, len(s.lights))
	for i, z := range s.lights {
		s.by[i] = z.Sub(s.middle)
	}
}

// tell tells whether enough of it was seen to know how far it goes.
func (s *changing) tell() bool { return s.pieces > fewestLights }

// wider is by how much farther the next light lies from the mean of m pieces than they do: (m+1)/(m-1) in its variance.
func (s *changing) wider() float64 {
	m := max(float64(s.pieces), 2)
	return math.Sqrt((m + 1) / (m - 1))
}

// most is the most by which it moves a light from its middle, u'v'.
func (s *changing) most(ref *Reference, light colorcalc.XYZ) (most float64) {
	for _, by := range s.by {
		most = max(most, effect(ref, light, by))
	}
	return most
}

// farther is by how much farther it may go from its middle than it was seen to: where m lights of it lie evenly in a range that is (m+1)/(m-1) of theirs in the mean. One
// that goes on and off is at one of two.
func (s *changing) farther() float64 {
	if s.two {
		return 1
	}
	m := max(float64(s.pieces), 2)
	return (m + 1) / (m - 1)
}

// between is what is in the middle of its two lights, and whether it was at one of two all the time.
func (s *changing) between() (middle colorcalc.XYZ, is bool) {
	farthest := func(from colorcalc.XYZ) colorcalc.XYZ {
		return slices.MaxFunc(s.lights, func(a, b colorcalc.XYZ) int {
			return cmp.Compare(scene.Size(a.Sub(from)), scene.Size(b.Sub(from)))
		})
	}
	a := farthest(scene.MeanOf(s.lights))
	b := farthest(a)
	near := twoLights * scene.Size(b.Sub(a))
	for _, z := range s.lights {
		if min(scene.Size(z.Sub(a)), scene.Size(z.Sub(b))) > near {
			return middle, false
		}
	}
	return a.Add(b).Scale(0.5), true
}

// matters tells whether a light that changes all the time at a probe has to be looked at: something is claimed there, or may be.
func (d *dark) matters(c *Core) bool {
	for _, u := range c.units {
		if u.Head >= 0 && c.ours(u) && c.background[u.Info.Probe] == d && (u.claim != nil || !d.harms(c, u) && u.outrun == "") {
			return true
		}
	}
	return false
}

// beyondChanges is how far a level is from what was foretold, ln, beyond what such a light may have done to it.
func (d *dark) beyondChanges(by, lux float64) float64 {
	if !(lux > 0) {
		return 0
	}
	return math.Copysign(max(0, math.Abs(by)-math.Log1p(d.sways()/lux)), by)
}

// overdue tells whether it has to be looked at before a task, which is of another lamp than the one read last.
func (d *dark) overdue(c *Core, probe string, before task) bool {
	return before != c.lane.task && c.now-d.when > changePause && c.readSince(probe, d) && d.matters(c)
}

// another tells whether readings of a passage are no lights of the one that changes all the time: their mean lies too far from its own for that, in the colour of the faintest
// lamp of which something may be claimed or, where a level is asked for, in its level.
func (d *dark) another(c *Core, got []Reading) bool {
	lit := lighted(got)
	if len(lit) == 0 {
		return false
	}
	light := d.faintest(c)
	if !(light.Y > 0) {
		return false
	}
	by, n := meanXYZ(lit).Sub(d.Mean()), float64(c.pieces(lit))
	apart := math.Sqrt(1/n + 1/max(float64(d.changes.pieces), 1))
	sd := math.Hypot(d.deviates(c.ref, light)*apart, d.Share(light, c.now))
	if moved := effect(c.ref, light, by); moved > jumpHarm*c.cfg.Plan.Tolerance && moved > changeFar*sd {
		return true
	}
	sdY := math.Hypot(d.sways()/2*apart, c.noiseAt(d.probe).sigmaLnY()*d.Mean().Y)
	return c.wantsLevel() && math.Abs(by.Y) > unlikeness*light.Y && math.Abs(by.Y) > changeFarY*sdY
}

// pieces counts the lights that readings of a passage are of: one after another is a further one where it lies farther off than by noise.
func (c *Core) pieces(lit []Reading) int {
	n := 1
	for i := 1; i < len(lit); i++ {
		if scene.NewBackground(lit[i-1].XYZ(), 1, c.meter(lit[i].Probe), lit[i-1].At).Off(lit[i].XYZ(), c.meter(lit[i].Probe), lit[i].At) > jumpAt {
			n++
		}
	}
	return n
}

// lookedOn tells whether a passage at a light that changes all the time has told whether another has come: a few readings that are of it, or, where they are not, so many
// that somebody who passes, or one of its lights that was not seen before, has gone again.
func (d *dark) lookedOn(c *Core, got []Reading) bool {
	n := len(got)
	if n < nextDark {
		return false
	}
	return n >= mostWatch || c.cfg.Plan.HandMeter || got[n-1].At-got[0].At >= watchFor || !d.another(c, got)
}

// looksOn takes in a passage at a light that changes all the time.
func (c *Core) looksOn(probe string, d *dark, lit []Reading) {
	if len(lit) == 0 {
		c.lostBackground(probe)
		return
	}
	was, known, at := d.Mean(), d.known(), lit[len(lit)-1].At
	z, _ := timed(lit)
	if half := lit[len(lit)/2:]; d.another(c, lit) && d.another(c, half) {
		now := scene.MeanOf(z)
		shifted := slices.Clone(d.changes.by)
		for i := range shifted { // it is on top of the other
			shifted[i] = shifted[i].Add(now)
		}
		seen := c.pieces(lit)
		d.changes = changingOf(append(shifted, z...), min(seen+1, d.changes.pieces), lit[0].At)
		d.Leap(now, len(lit), c.meter(d.probe), at)
		d.mark, d.when, d.black = d.Mark(), at, black(lit)
		jumps := []scene.Jump{{Since: known, At: lit[0].At, By: now.Sub(was)}}
		c.spoilt(probe, d, jumps, was, now, known)
		m := Measured{UV: now.UV(), RawUV: now.UV(), Lux: now.Y, RawLux: now.Y, Probe: probe}
		c.enter(Entry{Kind: KindDrift, Reading: &m, Note: fmt.Sprintf("beside the light at %s that changes all the time another has come or gone: from about %.2f to %.2f lux: %s",
			atProbe(probe), was.Y, now.Y, mayBeOff(sinceRead, c.moved(d.faintest(c), jumps), c.cfg.Plan.Tolerance))})
		return
	}
	before := d.mark
	if of := slices.DeleteFunc(slices.Clone(lit), func(r Reading) bool { return d.another(c, []Reading{r}) }); len(of) > 0 { // without somebody who passed
		z, _ = timed(of)
		d.changes.saw(z, c.pieces(of))
	}
	d.Leap(d.changes.middle, len(d.changes.lights), c.meter(d.probe), at)
	d.mark, d.when, d.black = d.Mark(), at, black(lit)
	for _, u := range c.units {
		if k := u.claim; k != nil && u.Info.Probe == probe && k.at >= d.changes.since && k.share < 1 && k.light.Y > 0 {
			k.takesOff(d.Mean(), c.shareOf(d, k.light, c.now))
		}
	}
	c.unexplained(probe, d, before.At())
	now := d.Mean()
	m := Measured{UV: now.UV(), RawUV: now.UV(), Lux: now.Y, RawLux: now.Y, Probe: probe}
	c.enter(Entry{Kind: KindDrift, Reading: &m})
}
