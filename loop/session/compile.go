package session

import (
	"fmt"
	"slices"
	"time"

	"trueup/dmx"
	"trueup/loop"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/profiles"
	"trueup/safety"
)

// Compiled is a rig turned into what the parts below work with. Units and
// Heads belong together: Units[i].Head indexes Heads.
type Compiled struct {
	Units []*Unit
	Heads []safety.Head
	Start safety.Look             // own mode: the look of the first frame, and the one to end on
	Modes map[string][]solve.Spec // what the profiles say of the other modes of fixtures of one head, by core.Unit.Type
}

// Compile turns a checked rig into units for the session and slot rules for
// the governor. The solver, the governor and the profile count the movable
// parameters of a head in the same order: that of profiles.Mode.Params.
func Compile(r *rig.Rig) (*Compiled, error) {
	c := &Compiled{Start: safety.Look{}}
	for i := range r.Fixtures {
		f := &r.Fixtures[i]
		if !f.Sent() {
			c.Units = append(c.Units, &Unit{Unit: core.Unit{Info: info(f, f.Name), Head: -1, Feed: feedOf(r, f.Probe)}})
			continue
		}
		for head := range f.Heads {
			if err := c.addHead(r, f, head); err != nil {
				return nil, fmt.Errorf("%s:%d:%d: fixture %q: %w", r.Path, f.Pos.Line, f.Pos.Col, f.Name, err)
			}
		}
	}
	return c, nil
}

func info(f *rig.Fixture, name string) FixtureInfo {
	i := FixtureInfo{Name: name, DeskChannel: f.DeskChannel, Probe: f.Probe, Fixed: f.Fixed, ByHand: f.ByHand, Mode: f.ModeName, Unit: f.Unit, Col: f.Grid.Col, Row: f.Grid.Row}
	if f.Profile != nil {
		i.Profile = f.Profile.Name
	}
	if f.Sent() {
		i.Address = f.Address.String()
	}
	return i
}

func (c *Compiled) addHead(r *rig.Rig, f *rig.Fixture, head int) error {
	m := f.Mode
	name := f.Name
	if f.Heads > 1 {
		name = fmt.Sprintf("%s/%d", f.Name, head+1)
	}
	b, err := newBuilder(f, head)
	if err != nil {
		return err
	}
	spec, err := b.spec(name)
	if err != nil {
		return err
	}
	rules, err := b.rules()
	if err != nil {
		return err
	}
	still, err := b.still()
	if err != nil {
		return err
	}
	u := &Unit{Unit: core.Unit{Info: info(f, name), Head: len(c.Heads), Spec: spec, Level: b.solverLevel(), Headroom: max(1, f.LevelCap/f.Level), Settle: settle(m), SettleKnown: m.Settle > 0,
		Universe: int(f.Address.Universe), Still: still, Type: b.identity(), Feed: feedOf(r, f.Probe), Dark: b.dark(), Rest: b.rest(), Lit: b.lit()}, Settings: b.settings, Slots: b.slots, Decode: b.decode, Spectra: b.spectra()}
	for _, p := range b.params {
		u.Info.Parameters = append(u.Info.Parameters, p.Name)
	}
	u.Info.Held = b.held()
	c.Units = append(c.Units, u)
	if modes := b.otherModes(); len(modes) > 0 {
		if c.Modes == nil {
			c.Modes = map[string][]solve.Spec{}
		}
		c.Modes[u.Type] = modes
	}
	c.Heads = append(c.Heads, safety.Head{Name: name, Universe: f.Address.Universe, Slots: rules, Cap: f.LevelCap})
	return c.addStart(b)
}

// addStart puts the head's resting levels into the start look.
func (c *Compiled) addStart(b *builder) error {
	u := b.f.Address.Universe
	if c.Start[u] == nil {
		c.Start[u] = new([dmx.SlotsPerUniverse]byte)
	}
	base := int(b.f.Address.Slot) - 1
	dst := c.Start[u][base : base+b.m.Footprint]
	if err := b.m.Rest(dst); err != nil {
		return err
	}
	return b.m.Encode(b.head, b.whole(b.rest()), dst)
}

func settle(m *profiles.Mode) time.Duration {
	return loop.NewDeadTime(m.Settle).Wait()
}

// builder compiles one head.
type builder struct {
	f      *rig.Fixture
	m      *profiles.Mode
	head   int
	params []*profiles.Param // what this head moves, in the order of Mode.Params
	shared []*profiles.Param // one for all heads of the fixture: stands at full
}

// newBuilder sorts the mode's parameters. A dimmer that several heads share
// cannot belong to one of them: it stands at full, and the emitters carry the
// level.
func newBuilder(f *rig.Fixture, head int) (*builder, error) {
	b := &builder{f: f, m: f.Mode, head: head}
	for _, p := range f.Mode.Params() {
		switch {
		case !p.Common || f.Heads == 1:
			b.params = append(b.params, p)
		case p == f.Mode.Dimmer && len(f.Mode.Emitters) > 0:
			b.shared = append(b.shared, p)
		default:
			return nil, fmt.Errorf("mode %q has one %q for all its heads, so they cannot be matched one by one: write heads: 1, or choose another mode", f.Mode.Name, p.Name)
		}
	}
	return b, nil
}

// whole adds the shared parameters to a drive, as Mode.Encode wants it.
func (b *builder) whole(d solve.Drive) []uint32 {
	if len(b.shared) == 0 {
		return d
	}
	var out []uint32
	i := 0
	for _, p := range b.m.Params() {
		if slices.Contains(b.shared, p) {
			out = append(out, p.Hi)
			continue
		}
		out = append(out, d[i])
		i++
	}
	return out
}

// dimmer gives the index of the dimmer among the parameters, -1 for none.
func (b *builder) dimmer() int { return slices.Index(b.params, b.m.Dimmer) }

// levelCode is the dimmer code for the level wished for, by the profile's curve.
func (b *builder) levelCode() uint32 {
	d := b.m.Dimmer
	return d.Level().CodeOf(b.f.Level)
}

// solverLevel is the share of a head's most light that the solver aims for:
// with a dimmer the level is set there, and the mix stays nearly full.
func (b *builder) solverLevel() float64 {
	if b.dimmer() >= 0 {
		return 0.97
	}
	return b.f.Level
}

// rest is how the head stands before it is lit: start codes where the profile
// has them, else the lowest.
func (b *builder) rest() solve.Drive {
	d := make(solve.Drive, len(b.params))
	for i, p := range b.params {
		d[i] = p.Lo
		if p.Start != nil {
			d[i] = *p.Start
		}
	}
	return d
}

// lit is how the head stands when it is itself the reference and no desk says
// how: all it has, at the level wished for.
func (b *builder) lit() solve.Drive {
	d := b.rest()
	for i := range b.m.Emitters {
		if !b.m.Emitters[i].Blind {
			d[i] = b.params[i].Hi
		}
	}
	if i := b.dimmer(); i >= 0 {
		d[i] = b.levelCode()
	}
	return d
}

// dark gives the codes that take the head's light away and leave its colour: of
// the dimmer, else of all emitters; nil where the mode has neither.
func (b *builder) dark() []core.AxisCode {
	if d := b.dimmer(); d >= 0 {
		return []core.AxisCode{{Axis: d, Code: b.params[d].Lo}}
	}
	var out []core.AxisCode
	for i := range b.m.Emitters {
		out = append(out, core.AxisCode{Axis: i, Code: b.params[i].Lo})
	}
	return out
}

// feedOf names the feed that reads a probe; "" where the rig does not say.
func feedOf(r *rig.Rig, probe string) string {
	i, err := FeedOf(r.Feeds, probe)
	if err != nil {
		return ""
	}
	return r.Feeds[i].Name
}

// decode reads the head's codes out of a universe's slots.
func (b *builder) decode(slots *[512]byte) (solve.Drive, error) {
	base := int(b.f.Address.Slot) - 1
	codes, err := b.m.Decode(b.head, slots[base:base+b.m.Footprint])
	if err != nil {
		return nil, err
	}
	var own solve.Drive
	for i, p := range b.m.Params() {
		if !slices.Contains(b.shared, p) {
			own = append(own, codes[i])
		}
	}
	return own, nil
}

// TakeFound keeps how the desk has every unit, read from its look of each
// universe, so that a lamp can be read as found before it is moved.
func (c *Compiled) TakeFound(look func(u dmx.Universe, dst *[512]byte) (slots int)) error {
	seen := map[dmx.Universe]*[512]byte{}
	for _, u := range c.Units {
		if u.Head < 0 {
			continue
		}
		universe := c.Heads[u.Head].Universe
		if seen[universe] == nil {
			seen[universe] = new([512]byte)
			look(universe, seen[universe])
		}
		d, err := u.Decode(seen[universe])
		if err != nil {
			return fmt.Errorf("fixture %q: %w", u.Info.Name, err)
		}
		u.Rest = d
		if len(u.Dark) > 0 && !slices.Equal(u.Darkened(d), d) {
			u.Found = d
		}
	}
	return nil
}
