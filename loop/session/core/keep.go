package core

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/loop/solve"
	"trueup/profiles/printable"
)

// Keep puts the look of a match back and keeps it true until somebody ends it: it reads the
// lit look in turn and trims lamps that drift by steps that are not seen. No lamp is put out for a
// reading, so each probe sees the mixture of all lamps at it; they are trimmed together.
const Keep Work = "keep"

// keeping is the whole work of such a run.
type keeping struct {
	phase  keepPhase
	moves  []move
	probes []*kept
	at     *kept // being read, or trimmed
}

type keepPhase uint8

const (
	keepFresh keepPhase = iota // nothing is lit yet
	keepLights
	keepWaits
	keepReads
	keepTrims
)

func (k *keeping) unit() *unit { return nil }

func (k *keeping) step(c *Core, in input) want {
	switch {
	case in.refused != "":
		return k.refused(c, in)
	case in.silent != "":
		k.at.silent(c, in.silent)
	case in.arrived != nil && k.phase == keepLights:
		for _, m := range k.moves {
			c.stood(m.unit, Step{Action: "sent", Codes: m.unit.at.Sent})
		}
		c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("the look stands: %s at %s, kept true until you end it", printable.Count(len(k.moves), "fixture"), printable.Count(len(k.probes), "probe"))})
		settled := c.now + c.slowest()
		for _, p := range k.probes {
			p.due, p.after, p.stood = settled, settled, c.now
		}
	case in.arrived != nil && k.phase == keepTrims:
		for _, l := range k.at.lamps {
			if l.trimming {
				l.trimming = false
				c.stood(l.unit, Step{Action: "sent", Codes: l.unit.at.Sent})
			}
		}
		k.at.after = c.now + k.at.settle()
		k.at.due = k.at.after // what the trim did is read at once
	case in.reading != nil && k.phase == keepReads:
		if !k.at.take(c, in.reading) {
			return k.read()
		}
		if look := k.at.passage(c); len(look) > 0 {
			k.phase = keepTrims
			return want{look: look}
		}
	case k.phase == keepFresh:
		return k.light(c)
	}
	return k.next(c)
}

// light puts the look back. What an earlier run did not leave standing is not touched.
func (k *keeping) light(c *Core) want {
	k.phase = keepLights
	for _, s := range c.cfg.Previous {
		u := c.find(s.Fixture)
		if u == nil || u.Head < 0 || len(s.Codes) != len(u.Rest) || s.Result != solve.Landed && s.Result != solve.OutOfReach {
			continue
		}
		c.decided(u, Step{Action: "keep", Codes: s.Codes})
		k.moves = append(k.moves, move{unit: u, drive: s.Codes})
		if s.Reference {
			continue
		}
		l := &keptLamp{unit: u, standing: s}
		t, err := solve.NewTrimmer(u.Spec, c.cfg.Priors[s.Fixture], s.Codes, u.Headroom)
		if err != nil {
			return want{fail: fmt.Errorf("%s: %w", s.Fixture, err)}
		}
		l.trimmer = t
		k.join(l)
	}
	if len(k.probes) == 0 {
		return want{fail: fmt.Errorf("nothing to keep: the earlier run left no fixture of this rig matched")}
	}
	return want{look: k.moves}
}

// join puts a lamp to the others at its probe.
func (k *keeping) join(l *keptLamp) {
	for _, p := range k.probes {
		if p.name == l.unit.Info.Probe {
			p.lamps = append(p.lamps, l)
			return
		}
	}
	k.probes = append(k.probes, &kept{name: l.unit.Info.Probe, lamps: []*keptLamp{l}})
}

// refused goes on without a lamp that is held: it stays as it is. Held when the look is lit, it has never shone; later
// its light stays in the mixture that its probe reads.
func (k *keeping) refused(c *Core, in input) want {
	k.moves = slices.DeleteFunc(k.moves, func(m move) bool { return m.unit == in.by })
	for _, p := range k.probes {
		if k.phase == keepLights {
			p.lamps = slices.DeleteFunc(p.lamps, func(l *keptLamp) bool { return l.unit == in.by })
		}
		for _, l := range p.lamps {
			if l.unit == in.by {
				l.held, l.trimming = true, false
			}
		}
	}
	c.enter(Entry{Kind: KindVerify, Fixture: in.by.Info.Name, Outcome: c.outcomeOf(in.by, solve.Decision{Outcome: solve.Held, Reason: in.why})})
	switch {
	case len(k.moves) == 0:
		return want{fail: fmt.Errorf("no fixture takes its setting")}
	case k.phase == keepLights:
		return want{look: k.moves}
	case k.phase == keepTrims: // the others are on their way
		return want{look: k.at.trimmed()}
	}
	return k.next(c)
}

// next goes to the probe whose time has come, or waits for it.
func (k *keeping) next(c *Core) want {
	k.at = nil
	for _, p := range k.probes {
		if p.follows() && (k.at == nil || p.due < k.at.due) {
			k.at = p
		}
	}
	if k.at == nil {
		return want{fail: fmt.Errorf("no fixture is left to keep")}
	}
	if k.at.due > c.now {
		k.phase = keepWaits
		return want{until: k.at.due}
	}
	k.phase = keepReads
	return k.read()
}

func (k *keeping) read() want {
	return want{read: &Ask{Probe: k.at.name, After: k.at.after, Faint: true}}
}

// backgroundAsMatched takes the background as the match left it, where none is read: the look of
// the desk is lit, or people are aloft.
func (c *Core) backgroundAsMatched() {
	for _, probe := range slices.Sorted(maps.Keys(c.cfg.Background)) {
		mean := c.cfg.Background[probe]
		b := scene.NewBackground(mean, firstDark, c.meter(probe), c.now)
		c.background[probe] = &dark{Background: b, probe: probe, first: mean, mark: b.Mark(), when: c.now, looked: -1}
		m := Measured{UV: mean.UV(), RawUV: mean.UV(), Lux: mean.Y, RawLux: mean.Y, Probe: probe}
		c.enter(Entry{Kind: KindBackground, Reading: &m, Note: fmt.Sprintf("background at %s: %.2f lux as the match read it, taken off every reading", atProbe(probe), mean.Y)})
	}
}

// BackgroundAt is what is taken off the readings of a probe; ok is false where that is nothing.
func (c *Core) BackgroundAt(probe string) (mean colorcalc.XYZ, ok bool) {
	d := c.background[probe]
	if d == nil {
		return mean, false
	}
	return d.Mean(), true
}

// atProbe names a probe; a rig with one meter need not name its own.
func atProbe(name string) string {
	if name == "" {
		return "the meter"
	}
	return fmt.Sprintf("probe %q", name)
}

// ended says how every probe was kept.
func (k *keeping) ended(c *Core) {
	if k.phase <= keepLights {
		return
	}
	for _, p := range k.probes {
		p.ended(c)
	}
}

// aim is what a probe shall read: the mixture of its lamps, each at the target if it had landed,
// else where it stood, by their light.
func (p *kept) aim(c *Core) colorcalc.UV {
	var sum colorcalc.XYZ
	for _, l := range p.lamps {
		uv, y := c.ref.UV, l.standing.Lux
		if l.standing.Result != solve.Landed {
			uv = l.standing.UV
		}
		if !(y > 0) {
			y = 1
		}
		sum = sum.Add(uv.XYZ(y))
	}
	return sum.UV()
}

// settle is how long the slowest of a probe's lamps takes.
func (p *kept) settle() (d time.Duration) {
	for _, l := range p.lamps {
		d = max(d, l.unit.settle)
	}
	return d
}

func lnRatio(a, b float64) float64 { return math.Abs(math.Log(a / b)) }
