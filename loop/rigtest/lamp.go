package rigtest

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/looptest"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/loop/stage"
	"trueup/profiles/law"
)

// lampPlan is one lamp: what it is, where it stands, and what the run is told of it.
type lampPlan struct {
	name     string
	kind     stage.Kind // as it is: what is spoilt is spoilt here
	drawn    *stage.Unit
	channels []stage.Channel
	sound    stage.Kind // and its channels, before they were spoilt
	asMade   []stage.Channel
	spec     solve.Spec
	level    float64  // the run's wish
	probe    string   // where the run believes that it is seen
	seen     []string // the probes that see it; the run believes in probe alone
	gain     float64  // lux at its probe per unit of its light
	full     float64  // its light at full, own units
	rest     solve.Drive
	warmth   float64
	known    bool          // the profile states the dead time
	stated   time.Duration // where it is more than the usual 150 ms
	deaf     bool          // does not hear the wire
	patch    patched       // where its slots are
	off      int           // slots that it listens further up than the rig has it
	remoded  bool          // it is in a mode of 8 bit where the rig has it in one of 16, or the other way
	turned   bool          // its probe sees another lamp in its place
	swapped  bool          // two of its emitters have each other's slots: it is held for that, whatever it could reach
	aim      colorcalc.UV  // the reference at the beginning
	others   []look        // what somebody else sets it to
	spoilt   bool          // something is wrong with it that the class names
	hidden   bool          // that does not show at the reference's colour
	fixed    colorcalc.XYZ // a fixed light behind a dimmer instead
	change   stage.Change
	draw     func(k stage.Kind) *stage.Unit

	reachable bool
}

// look is what somebody sets a lamp to at a moment.
type look struct {
	at    time.Duration
	codes solve.Drive
}

// sorts of lamp, by turns.
var sorts = []string{"emitters", "cct", "emitters", "xy", "emitters", "cct", "hue", "emitters"}

// shapes of the sorts on the bench of single matches.
func shape(sort string, bits int) looptest.Class {
	switch sort {
	case "cct":
		return looptest.Class{Name: sort, Engine: true, Mode: stage.ByCCT, Bits: bits}
	case "xy":
		return looptest.Class{Name: sort, Engine: true, Mode: stage.ByXY, Bits: bits}
	case "hue":
		return looptest.Class{Name: sort, Engine: true, Mode: stage.ByHueSat, Bits: bits}
	}
	return looptest.Class{Name: sort, Bits: bits}
}

// alike is how many lamps of a rig are of one type, one after another.
func (r *Rig) alike() int {
	if r.class.Alike > 0 {
		return r.class.Alike
	}
	return 3
}

// lamp draws the i-th lamp of a rig, sound, one that reaches the reference.
func (r *Rig) lamp(i int, lux float64, d *draws) *lampPlan {
	sort := r.class.Only
	if sort == "" {
		sort = sorts[(i/r.alike()+int(r.seed%uint64(len(sorts))))%len(sorts)]
	}
	kind := uint64(i / r.alike())
	var l *lampPlan
	for try := range 30 {
		if try%10 == 9 {
			kind += 1000 // no unit of this kind reaches it
		}
		l = r.unit(shape(sort, r.class.Bits), kind, fmt.Sprintf("%d/%d", i, try))
		if l.reaches(r.target.UV()) {
			break
		}
	}
	l.name = fmt.Sprintf("lamp %d", i+1)
	l.probe = fmt.Sprintf("mark%d", i%r.class.probes()+1)
	l.seen = []string{l.probe}
	l.aim = r.target.UV()
	l.level = d.between(0.35, 0.95)
	l.warmth = d.between(0, 0.6)
	l.known = i/r.alike()%2 == 1
	l.dim(d)
	l.gain = lux / max(l.working(r.target.UV()), 1e-6)
	return l
}

// unit is a unit of a kind as the bench of single matches draws it.
func (r *Rig) unit(cl looptest.Class, kind uint64, unit string) *lampPlan {
	c := cl.Unit(r.seed, kind, unit, 0)
	l := &lampPlan{kind: c.Kind, channels: c.Channels, spec: c.Spec}
	l.kind.Name = fmt.Sprintf("%s %s", cl.Name, c.Kind.Name)
	l.draw = func(k stage.Kind) *stage.Unit {
		return stage.Draw(k, stage.KindScatter, stage.UnitScatter, r.seed^kind<<20, unit)
	}
	l.drawn = l.draw(l.kind)
	return l
}

// dim gives an engine a dimmer, and tells the run the level by it.
func (l *lampPlan) dim(d *draws) {
	n := len(l.channels)
	l.rest = make(solve.Drive, n)
	if l.spec.Kind != solve.Emitters {
		most := l.channels[0].Max
		for i := range l.rest {
			l.rest[i] = most / 2
		}
		if l.spec.HueSat != nil {
			l.rest[1] = most / 10
		}
		l.dims()
		return
	}
	l.spec.Start = slices.Clone(l.rest)
}

// dims gives a lamp a dimmer, and tells the run the level by it.
func (l *lampPlan) dims() {
	n, most := len(l.channels), l.channels[0].Max
	l.channels = append(slices.Clone(l.channels), stage.Channel{Role: stage.RoleDimmer, Max: most})
	l.spec.Channels = append(slices.Clone(l.spec.Channels), solve.Channel{Name: "dimmer", Max: most, Hi: most})
	l.spec.Dimmer = &solve.DimmerSpec{Channel: n, Level: law.Level{Range: law.Whole(most), Curve: law.Curve{Law: law.Linear}}}
	l.rest = append(l.rest, 0)
	l.spec.Start = slices.Clone(l.rest)
	l.spec.Start[n] = uint32(l.level * float64(most))
	l.level = 0.97
}

// finish draws the unit again where it was spoilt, and looks what it can do.
func (l *lampPlan) finish(r *Rig) {
	l.drawn = l.draw(l.kind)
	if l.turned {
		l.seen = nil
	}
	if l.spoilt && !l.deaf && l.listens() && !l.turned && l.kind.Quirks.Calibrates == 0 {
		sound := stage.NewPlant(l.draw(l.sound), l.asMade).Would(l.proposed(r.target.UV()))
		light := stage.NewPlant(l.drawn, l.channels).Would(l.proposed(r.target.UV()))
		l.hidden = light.Y > 0 && light.UV().Dist(sound.UV()) < shows
	}
	full := l.brightest()
	l.full = max(full.X, full.Y, full.Z)
	l.reachable = slices.Contains(l.seen, l.probe) && !l.deaf && l.listens() && !l.swapped && l.reaches(r.target.UV())
}

// listens tells whether a lamp takes what the rig sends it.
func (l *lampPlan) listens() bool { return l.off == 0 && !l.remoded }

// brightest is the light at full, own units, warm.
func (l *lampPlan) brightest() colorcalc.XYZ {
	codes := make([]uint32, len(l.channels))
	for i, c := range l.channels {
		codes[i] = c.Max
		if c.Role == stage.RoleFirst || c.Role == stage.RoleSecond {
			codes[i] = l.rest[i]
		}
	}
	return stage.NewPlant(l.drawn, l.channels).Would(codes)
}

// working is the level of the first setting that the profile proposes.
func (l *lampPlan) working(uv colorcalc.UV) float64 {
	return stage.NewPlant(l.drawn, l.channels).Would(l.proposed(uv)).Y
}

// proposed is the setting that the profile proposes for a colour.
func (l *lampPlan) proposed(uv colorcalc.UV) solve.Drive {
	o := solve.DefaultOptions()
	o.Level = l.level
	m, err := solve.New(l.spec, solve.Target{UV: uv}, nil, o)
	if err != nil {
		panic("rigtest: " + err.Error()) // a slip in this package
	}
	return m.Next(0).Drive
}

// unit is what the run is told of the lamp.
func (l *lampPlan) unit(head int) core.Unit {
	u := core.Unit{Info: core.FixtureInfo{Name: l.name, Profile: l.kind.Name, Probe: l.probe}, Head: head, Spec: l.spec, Level: l.level, Headroom: 1.2,
		Rest: l.rest, Lit: l.rest, Settle: loop.NewDeadTime(0).Wait(), Type: l.kind.Name, Feed: "meters"}
	if l.known {
		u.Settle, u.SettleKnown = loop.NewDeadTime(max(l.stated, 150*time.Millisecond)).Wait(), true
	}
	for _, c := range l.spec.Channels {
		u.Info.Parameters = append(u.Info.Parameters, c.Name)
	}
	if l.spec.Dimmer != nil {
		u.Dark = []core.AxisCode{{Axis: l.spec.Dimmer.Channel}}
		return u
	}
	for i := range l.channels {
		u.Dark = append(u.Dark, core.AxisCode{Axis: i})
	}
	return u
}

// shows is how far a fault must move the first setting's light to be a fault that readings at one
// colour can tell: some two standard deviations of units about their profile, u'v'.
const shows = 0.005

// margin is how far inside what a lamp can do the reference lies, u'v'.
const margin = 0.003

// reaches tells whether a colour lies well inside what the lamp can do at working warmth.
func (l *lampPlan) reaches(uv colorcalc.UV) bool {
	p := stage.NewPlant(l.drawn, l.channels)
	codes := make([]uint32, len(l.channels))
	for i, c := range l.channels {
		codes[i] = c.Max / 2
	}
	p.Set(codes)
	p.Warm(0.8)
	if l.spec.Kind != solve.Emitters {
		return nearest(p, l.channels, uv, 0.08) < 0.0003
	}
	var corners []colorcalc.UV
	for i, c := range l.channels {
		one := make([]uint32, len(l.channels))
		one[i] = c.Max
		if light := p.Would(one); light.Y > 0 {
			corners = append(corners, light.UV())
		}
	}
	return len(corners) >= 3 && looptest.Inside(looptest.Hull(corners), uv) > margin
}

// nearest is the least distance that the two parameters of an engine give, so far away from
// their ends: a lattice, then steps that halve.
func nearest(p *stage.Plant, ch []stage.Channel, uv colorcalc.UV, ends float64) float64 {
	most := float64(ch[0].Max)
	codes := make([]uint32, len(ch))
	for i, c := range ch {
		codes[i] = c.Max
	}
	dist := func(a, b float64) float64 {
		if a < ends || a > 1-ends || b < ends || b > 1-ends {
			return math.Inf(1)
		}
		codes[0], codes[1] = uint32(math.Round(a*most)), uint32(math.Round(b*most))
		return p.Would(codes).UV().Dist(uv)
	}
	a, b, best := 0.5, 0.5, math.Inf(1)
	const n = 16
	for i := range n + 1 {
		for j := range n + 1 {
			x, y := float64(i)/n, float64(j)/n
			if v := dist(x, y); v < best {
				a, b, best = x, y, v
			}
		}
	}
	for step := 1.0 / n; step*most >= 0.5; step /= 2 {
		for moved := true; moved; {
			moved = false
			for _, k := range [8][2]float64{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {-1, -1}, {1, -1}, {-1, 1}} {
				if v := dist(a+k[0]*step, b+k[1]*step); v < best-1e-9 {
					a, b, best, moved = a+k[0]*step, b+k[1]*step, v, true
				}
			}
		}
	}
	return best
}
