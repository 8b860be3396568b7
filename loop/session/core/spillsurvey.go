package core

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// darkness takes the light of every lamp away.
type darkness struct{ began bool }

func (*darkness) unit() *unit { return nil }

func (d *darkness) step(_ *Core, in input) want {
	switch {
	case in.refused != "":
		return want{fail: fmt.Errorf("fading out for the background: %s", in.refused)}
	case !d.began:
		d.began = true
		return want{dark: true}
	}
	return want{next: true}
}

// colours sets the dark lamps to the colours that they are first lit at.
type colours struct{ began bool }

func (*colours) unit() *unit { return nil }

func (s *colours) step(_ *Core, in input) want {
	if !s.began {
		s.began = true
		return want{preset: true}
	}
	return want{next: true}
}

// spillSurvey lights all lamps of some lanes and reads every probe, pattern after pattern, so that
// each pair of lanes is once lit the one and dark the other. What a dark probe reads is the most
// that any lamp lit then can throw on it, and all of them together.
type spillSurvey struct {
	patterns [][]bool // by lane: to be lit
	at       int
	lit      []map[*unit]bool       // of each pattern: the lamps that did come up
	got      []map[string][]Reading // of each pattern, by probe
	settled  time.Duration
	single   bool    // one lane at a time
	part     float64 // of their light at which the lamps are lit
	// least is what a lamp throws on a probe beside that probe's own lamp, at the pair where that is least, if
	// all lamps lit then throw the same.
	least float64
}

// Readings of a probe at each pattern: until two in a row agree, for a lamp that goes out may
// glow. Of these the one with more light counts.
const (
	spillReadings     = 2
	mostSpillReadings = 30
	spillAgrees       = 4    // standard deviations of a difference
	lastDigitLux      = 0.03 // and where the meter's last digit is coarser
)

// surveyOf are the tasks of a survey of the spill.
func (c *Core) surveyOf(single bool) []task {
	n := len(c.lanes) - 1
	s := &spillSurvey{patterns: patterns(n), single: single, part: c.surveyPart()}
	if single {
		s.patterns = nil
		for i := range n {
			p := make([]bool, n)
			p[i] = true
			s.patterns = append(s.patterns, p)
		}
	}
	var all []task
	for range s.patterns {
		s.got = append(s.got, map[string][]Reading{})
		s.lit = append(s.lit, map[*unit]bool{})
		all = append(all, &lighting{s: s, at: len(s.got) - 1})
		for _, probe := range c.probes() {
			all = append(all, &spillReading{s: s, probe: probe})
		}
	}
	return append(all, &weighing{s: s})
}

// probes are those of the lanes, in the order of the rig.
func (c *Core) probes() (all []string) {
	c.each(func(u *unit) {
		if !slices.Contains(all, u.Info.Probe) {
			all = append(all, u.Info.Probe)
		}
	})
	return all
}

// patterns light each of n lanes in another half of a number of patterns, so that none is
// lit wherever another is (E. Sperner, Ein Satz über Untermengen einer endlichen Menge, 1928).
func patterns(n int) [][]bool {
	m, half := 2, 1
	for choose(m, half) < n {
		m++
		half = m / 2
	}
	all := make([][]bool, m)
	for k := range all {
		all[k] = make([]bool, n)
	}
	lane := 0
	for set := uint(0); lane < n; set++ {
		if bits.OnesCount(set) != half {
			continue
		}
		for k := range all {
			all[k][lane] = set>>k&1 == 1
		}
		lane++
	}
	return all
}

func choose(n, k int) int {
	r := 1
	for i := range k {
		r = r * (n - i) / (i + 1)
	}
	return r
}

// lighting lights the lamps of one pattern, and takes the others out. What a lamp throws that does
// not come up is not known from its pattern; the others are waited for all the same.
type lighting struct {
	s     *spillSurvey
	at    int
	began bool
	left  []*unit // that did not take it
}

func (*lighting) unit() *unit { return nil }

func (l *lighting) step(c *Core, in input) want {
	switch {
	case in.refused != "":
		l.left = append(l.left, in.by)
	case in.arrived != nil:
		return l.arrived(c, in.arrived.At)
	case l.began:
		return want{next: true}
	}
	l.began = true
	l.s.at = l.at
	var look []move
	for _, u := range c.units {
		if u.Head < 0 || u.at.Sent == nil || slices.Contains(l.left, u) {
			continue
		}
		d := u.Darkened(u.at.Sent)
		if l.lights(c, u) {
			if d = c.workingDrive(u); d == nil {
				continue
			}
			d = u.inPart(d, l.s.part)
		}
		if !slices.Equal(d, u.at.Sent) || u.adrift {
			look = append(look, move{unit: u, drive: d})
		}
	}
	if len(look) == 0 {
		return l.arrived(c, c.now)
	}
	return want{look: look}
}

// lights tells whether a unit is to be lit at the pattern. A lamp that is the reference never is.
func (l *lighting) lights(c *Core, u *unit) bool {
	return c.ours(u) && l.s.patterns[l.at][slices.Index(c.lanes, c.byProbe[u.Info.Probe])]
}

// arrived notes which lamps are up.
func (l *lighting) arrived(c *Core, at time.Duration) want {
	l.s.settled = at + c.slowest()
	c.each(func(u *unit) {
		l.s.lit[l.at][u] = l.lights(c, u) && u.bright && !u.adrift
	})
	return want{next: true}
}

// spillReading reads one probe at the present pattern.
type spillReading struct {
	s     *spillSurvey
	probe string
	n     int
}

func (*spillReading) unit() *unit { return nil }

func (r *spillReading) step(c *Core, in input) want {
	if in.reading != nil {
		r.n++
		c.spillRead[r.probe] = c.now
		got := append(r.s.got[r.s.at][r.probe], *in.reading)
		r.s.got[r.s.at][r.probe] = got[max(0, len(got)-spillReadings):]
		m := c.measured(in.reading, solve.Reading{UV: in.reading.UV, Y: in.reading.Y})
		c.enter(Entry{Kind: KindSpill, Reading: &m})
	}
	if r.n >= spillReadings && (r.steady(c) || r.n >= mostSpillReadings) {
		return want{next: true}
	}
	return want{read: &Ask{Probe: r.probe, After: max(r.s.settled, c.now), Faint: true}}
}

func (r *spillReading) steady(c *Core) bool {
	got := r.s.got[r.s.at][r.probe]
	a, b := got[0].Y, got[1].Y
	return math.Abs(a-b) <= spillAgrees*math.Sqrt2*c.noiseAt(r.probe).sigmaLnY()*max(a, b)+lastDigitLux
}

// weighing ends a pattern's readings, and after the last says which lamps may be lit beside
// which.
type weighing struct{ s *spillSurvey }

func (*weighing) unit() *unit { return nil }

func (w *weighing) step(c *Core, _ input) want {
	c.weigh(w.s)
	pairs, apart := c.pairs()
	note := fmt.Sprintf("spill read: of %d pairs of lanes %d do not disturb each other and go on side by side", pairs, pairs-apart)
	hopeless := w.s.least*leastBounce > togetherAt*c.cfg.Plan.Tolerance
	if apart > 0 && !hopeless && !w.s.single && len(w.s.patterns) > 3 {
		c.enter(Entry{Kind: KindSpill, Note: note + "; the others are looked at one by one"})
		c.main.tasks = append(c.surveyOf(true), c.main.tasks...)
		return want{next: true}
	}
	if apart > 0 {
		note += "; the others take turns"
	}
	c.enter(Entry{Kind: KindSpill, Note: note})
	if c.unmeasured() {
		c.main.tasks = append([]task{&darkness{}}, c.main.tasks...)
	}
	return want{next: true}
}

// unmeasured tells whether the dead time of any lamp is to be measured or looked at yet: that takes a lamp
// that fades in.
func (c *Core) unmeasured() (some bool) {
	c.each(func(u *unit) {
		_, known := c.deadTimes[u.SettleKey()]
		some = some || !u.SettleKnown && (!known || c.unproven[u.SettleKey()]) && u.SettleKey() != ""
	})
	return some
}

// weigh keeps the most that each lamp can throw on each probe of other lanes, and what it gives
// at its own.
func (c *Core) weigh(s *spillSurvey) {
	lit := func(k int, probe string) bool { return s.patterns[k][slices.Index(c.lanes, c.byProbe[probe])] }
	c.weighOwn(s, lit)
	s.least = math.Inf(1)
	for _, probe := range c.probes() {
		for k := range s.patterns {
			light, ok := c.mostOf(probe, s.got[k][probe])
			if !ok || lit(k, probe) {
				continue
			}
			lamps, own := 0, 0.0
			c.each(func(u *unit) {
				if s.lit[k][u] {
					lamps++
				}
				if u.Info.Probe == probe {
					own = max(own, u.own.Y)
				}
			})
			if lamps > 0 && own > 0 {
				s.least = min(s.least, light.Y/s.part/float64(lamps)/own)
			}
			c.shareOut(s.lit[k], probe, light.Scale(1/s.part))
		}
	}
	c.each(func(u *unit) {
		if u.tally.last != nil { // read before the run broke off
			c.throwsMore(u, u.own.Y)
		}
	})
}

// weighOwn keeps what the lamps of each probe give there.
func (c *Core) weighOwn(s *spillSurvey, lit func(pattern int, probe string) bool) {
	for _, probe := range c.probes() {
		for k := range s.patterns {
			if light, ok := c.mostOf(probe, s.got[k][probe]); ok && lit(k, probe) {
				c.owns(probe, light.Scale(1/s.part), s.part < 1)
			}
		}
	}
}

// owns shares the light of a probe out among its lamps, until each is read by itself.
func (c *Core) owns(probe string, light colorcalc.XYZ, part bool) {
	n := 0
	c.each(func(u *unit) {
		if u.Info.Probe == probe {
			n++
		}
	})
	c.each(func(u *unit) {
		if u.Info.Probe != probe {
			return
		}
		if part {
			u.surveyed = light.Y / float64(n)
		}
		if u.tally.last == nil {
			u.own = light.Scale(1 / float64(n))
		}
	})
}

// Figures of a survey of spill.
const (
	surveyDoubt = 2.0  // standard deviations that are added to what was read
	surveyDrift = 0.01 // of the background, that it may have moved since it was read
	surveyTells = 5.0  // standard deviations from which on the colour of spill is told
)

// mostOf is the most light beside the background that readings of a probe leave room for.
// Without a level nothing is known.
func (c *Core) mostOf(probe string, got []Reading) (colorcalc.XYZ, bool) {
	if len(got) < spillReadings {
		return colorcalc.XYZ{}, false
	}
	var under colorcalc.XYZ
	if d := c.background[probe]; d != nil {
		under = d.Mean()
	}
	var most Reading
	for _, r := range got {
		if !r.TooDark && !r.HasY {
			return colorcalc.XYZ{}, false
		}
		if r.Y < under.Y*(1-leastShare) {
			return colorcalc.XYZ{}, false // something stands in front of the meter
		}
		if r.Y >= most.Y {
			most = r
		}
	}
	if most.TooDark || !(most.Y > 0) {
		return colorcalc.XYZ{}, true
	}
	net := most.XYZ().Sub(under)
	sigma := c.noiseAt(probe).sigmaLnY() * math.Hypot(most.Y, under.Y)
	y := max(net.Y, 0) + surveyDoubt*sigma + surveyDrift*under.Y
	uv, _ := c.target()
	if net.Y > surveyTells*sigma && net.XY().Valid() {
		uv = net.UV()
	}
	return uv.XYZ(y), true
}

// pairs counts the pairs of lanes, and those whose lamps may not be lit beside each other.
func (c *Core) pairs() (all, apart int) {
	probes := c.probes()
	for i, p := range probes {
		for _, q := range probes[:i] {
			if c.byProbe[p] == c.byProbe[q] {
				continue
			}
			all++
			ok := true
			c.each(func(u *unit) {
				other := p
				switch u.Info.Probe {
				case p:
					other = q
				case q:
				default:
					return
				}
				c.each(func(o *unit) {
					if o.Info.Probe == other && ok {
						_, ok = c.spill.beside(u.own, u.Info.Probe, []*unit{o}, c.cfg.Plan.Tolerance)
					}
				})
			})
			if !ok {
				apart++
			}
		}
	}
	return all, apart
}

// surveyedAgain puts a new survey before what is left of a run that broke off: somebody may
// have moved lamps or probes. Of an earlier one nothing is kept.
func (c *Core) surveyedAgain(tasks []task) []task {
	if !c.several() {
		return tasks
	}
	c.spill = spill{}
	tasks = slices.DeleteFunc(tasks, func(t task) bool {
		switch t.(type) {
		case *lighting, *spillReading, *weighing:
			return true
		}
		return false
	})
	for i, t := range tasks {
		cl, _ := c.place(t)
		_, reads := t.(*reference)
		_, dark := t.(*darkness)
		if cl != inDark && !reads && !dark {
			return slices.Insert(tasks, i, c.surveyOf(false)...)
		}
	}
	return tasks
}
