package stage

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"trueup/colorcalc"
	"trueup/dmx"
	"trueup/loop/session/rig"
	"trueup/profiles"
	"trueup/profiles/law"
	"trueup/profiles/yamlfile"
)

// Build sets a stage for a rig: the lamps of the file where the rig has its
// fixtures, and ordinary lamps where the file is silent. f may be nil. Errors
// are yamlfile.Errors with places in the stage file.
func Build(r *rig.Rig, f *File) (*Hall, error) {
	if f == nil {
		f = &File{}
	}
	b := &builder{rig: r, file: f, entries: map[string]*LampFile{}}
	b.check()
	var probes []Probe
	var lamps []Lamp
	names := b.probeNames()
	for _, n := range names {
		probes = append(probes, f.probe(n))
	}
	for i := range r.Fixtures {
		lamps = append(lamps, b.lamps(&r.Fixtures[i], names)...)
	}
	if f.doc != nil {
		if err := f.doc.Err(); err != nil {
			return nil, err
		}
	}
	h := NewHall(lamps, probes, f.MeterSpec(), f.Seed)
	if s := f.Spectro; s != nil {
		h.Spectrometers(SpectroSpec{BandwidthNM: or(s.Bandwidth, 8), Stray: or(s.Stray, 0.002), Sigma: or(s.Sigma, 0.002), StepNM: or(s.Step, 5)}, f.Seed)
	}
	return h, nil
}

type builder struct {
	rig     *rig.Rig
	file    *File
	entries map[string]*LampFile // by "profile NAME" and "fixture NAME"
}

// check finds entries for things that the rig does not have.
func (b *builder) check() {
	var fixtures, profs []string
	for _, x := range b.rig.Fixtures {
		fixtures = append(fixtures, x.Name)
		if x.Profile != nil && !slices.Contains(profs, x.Profile.Name) {
			profs = append(profs, x.Profile.Name)
		}
	}
	for i := range b.file.Lamps {
		l := &b.file.Lamps[i]
		kind, name, have := "profile", l.Profile, profs
		if l.Fixture != "" {
			kind, name, have = "fixture", l.Fixture, fixtures
		}
		b.entries[kind+" "+name] = l
		if !slices.Contains(have, name) && b.file.doc != nil {
			bad := b.file.doc.Errorf(fmt.Sprintf("$.lamps[%d].%s", i, kind), "the rig has no %s called %q", kind, name)
			if near := yamlfile.Nearest(name, have); near != "" {
				bad.Advise("did you mean %q?", near)
			}
		}
	}
	b.checkProbes(fixtures)
}

// probeNames are the probes of the rig's fixtures, in order of appearance.
func (b *builder) probeNames() []string {
	var out []string
	for _, x := range b.rig.Fixtures {
		if n := probeOf(&x); !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// unnamed is the probe that a rig need not name.
const unnamed = "mark"

// probeOf names the probe of a fixture; a rig with one probe need not name it.
func probeOf(x *rig.Fixture) string {
	if x.Probe == "" {
		return unnamed
	}
	return x.Probe
}

// entry merges what the file says of a fixture over what it says of its profile.
func (b *builder) entry(x *rig.Fixture) LampFile {
	var e LampFile
	if x.Profile != nil {
		if p := b.entries["profile "+x.Profile.Name]; p != nil {
			e = *p
		}
	}
	o := b.entries["fixture "+x.Name]
	if o == nil {
		return e
	}
	if len(o.Emitters) > 0 {
		e.Emitters = o.Emitters
	}
	if o.AddressOff != 0 {
		e.AddressOff = o.AddressOff
	}
	if len(o.Swapped) > 0 {
		e.Swapped = o.Swapped
	}
	for _, s := range []struct{ to, from *string }{{&e.Law, &o.Law}, {&e.DimmerLaw, &o.DimmerLaw}, {&e.Unit, &o.Unit}, {&e.Mode, &o.Mode}} {
		if *s.from != "" {
			*s.to = *s.from
		}
	}
	for _, s := range []struct{ to, from **float64 }{{&e.CutOff, &o.CutOff}, {&e.Limit, &o.Limit}, {&e.Spread, &o.Spread},
		{&e.KindSpread, &o.KindSpread}, {&e.Lux, &o.Lux}, {&e.Warm, &o.Warm}, {&e.ResponseMs, &o.ResponseMs}, {&e.DelayMs, &o.DelayMs},
		{&e.Play, &o.Play}, {&e.Wave, &o.Wave}, {&e.PWM, &o.PWM}, {&e.Heat, &o.Heat}, {&e.HeatTime, &o.HeatTime}, {&e.Current, &o.Current}} {
		if *s.from != nil {
			*s.to = *s.from
		}
	}
	e.Dead = e.Dead || o.Dead
	if o.Engine != nil {
		e.Engine = o.Engine
	}
	if o.Unrest != nil {
		e.Unrest = o.Unrest
	}
	if len(o.Weak) > 0 {
		e.Weak = o.Weak
	}
	if o.Calibrates != nil {
		e.Calibrates = o.Calibrates
	}
	if o.Warming != nil {
		e.Warming = o.Warming
	}
	if o.Gel != nil {
		e.Gel = o.Gel
	}
	return e
}

var lawOf = map[law.Law]Law{law.Linear: Linear, law.Square: Square, law.Gamma: Gamma, law.SCurve: SCurve}

// kindOf makes the physics of a fixture from its profile and the file's entry.
func (b *builder) kindOf(x *rig.Fixture, e LampFile) Kind {
	k := Kind{Name: x.Name, Heat: WarmLamp, CutOff: or(e.CutOff, 0.01), PerEmitter: 0.012, Limit: or(e.Limit, 0),
		Response: ms(e.ResponseMs, 60), Delay: ms(e.DelayMs, 25)}
	if x.Profile != nil {
		k.Name = x.Profile.Name // lamps of one profile share what the kind is off
	}
	m := x.Mode
	if m != nil {
		for i := range m.Emitters {
			k.Emitters = append(k.Emitters, emitterFor(&m.Emitters[i]))
			k.Law = lawOf[m.Emitters[i].Curve.Law]
		}
		if m.Dimmer != nil {
			k.DimLaw = lawOf[m.Dimmer.Curve.Law]
		}
		k.Engine = engineFor(m, e.Engine)
	}
	switch {
	case len(e.Emitters) > 0:
		k.Emitters = b.override(k.Emitters, e.Emitters, k.Engine != nil || m == nil || m.Kind != profiles.Emitters)
	case len(k.Emitters) > 0:
	case k.Engine != nil && k.Engine.Mode == ByCCT:
		k.Emitters = emittersCalled("warm white", "cool white", "green", "red", "blue")
	case k.Engine != nil:
		k.Emitters = emittersCalled("red", "green", "blue")
	default:
		k.Emitters = emittersCalled("old arc")
		k.Unrest = Unrest{Level: 0.004, Colour: 0.004, Ageing: 0.01}
	}
	for _, l := range []struct {
		word string
		to   *Law
	}{{e.Law, &k.Law}, {e.DimmerLaw, &k.DimLaw}} {
		if law, err := ParseLaw(l.word); err == nil {
			*l.to = law
		}
	}
	heat := or(e.Heat, 1)
	k.Heat.Sink, k.Heat.Board, k.Heat.Junction = heat*k.Heat.Sink, heat*k.Heat.Board, heat*k.Heat.Junction
	k.Heat.SinkTime = time.Duration(or(e.HeatTime, k.Heat.SinkTime.Seconds()) * float64(time.Second))
	k.Heat.ShiftWithCurrent = or(e.Current, 0)
	if e.Unrest != nil {
		k.Unrest = Unrest{e.Unrest.Level, e.Unrest.Colour, e.Unrest.Ageing}
	}
	return k
}

// override puts the file's emitters in the place of those of the same name, or
// of all where the profile has no emitters to name.
func (b *builder) override(have []Emitter, file []EmitterFile, all bool) []Emitter {
	if all {
		have = nil
	}
	for _, f := range file {
		i := slices.IndexFunc(have, func(e Emitter) bool { return e.Name == f.Name })
		switch {
		case i >= 0:
			have[i] = f.emitter()
		case all:
			have = append(have, f.emitter())
		default:
			var names []string
			for _, e := range have {
				names = append(names, e.Name)
			}
			b.fault("emitters", "the profile has no emitter called %q: it has %s", f.Name, strings.Join(names, ", "))
		}
	}
	return have
}

// fault notes an error about the file's lamps.
func (b *builder) fault(what, format string, args ...any) {
	if b.file.doc != nil {
		b.file.doc.Errorf("$.lamps", what+": "+format, args...)
	}
}

// emitterFor finds what a profile's emitter is by its colour word, and by its
// nominal chromaticity where no trade name fits.
func emitterFor(p *profiles.Emitter) Emitter {
	for _, w := range []string{p.Colour, p.Name} {
		w = strings.ToLower(strings.NewReplacer("-", " ", "_", " ").Replace(w))
		if e, ok := Nominal(w); ok {
			e.Name = p.Name
			return e
		}
	}
	var best Emitter
	near := math.Inf(1)
	for _, n := range NominalNames() {
		e, _ := Nominal(n)
		if e.Form != LED && e.Form != Phosphor {
			continue
		}
		if d := e.Light().UV().Dist(p.UV); d < near {
			best, near = e, d
		}
	}
	best.Name = p.Name
	return best
}

func engineFor(m *profiles.Mode, f *EngineFile) *Engine {
	if f == nil {
		f = &EngineFile{}
	}
	switch m.Kind {
	case profiles.CCT:
		e := &Engine{Mode: ByCCT, Early: or(f.Early, 0.02), KnotsM: 7, KnotsD: 5}
		a, z := 2700.0, 6500.0
		if m.CCT != nil {
			a, z = cctEnds(m.CCT)
		}
		a, z = or(f.From, a), or(f.To, z)
		e.From, e.To = colorcalc.Kelvin(min(a, z)), colorcalc.Kelvin(max(a, z))
		e.Duv = 0.012
		if m.Tint != nil {
			e.Duv = colorcalc.Duv(max(math.Abs(or(f.TintFrom, float64(m.Tint.From))), math.Abs(or(f.TintTo, float64(m.Tint.To))), 0.002))
		}
		return e
	case profiles.XY:
		return &Engine{Mode: ByXY}
	case profiles.HueSat:
		e := &Engine{Mode: ByHueSat, White: White(colorcalc.Kelvin(6500).Mired(), 0.003)}
		if m.Space != nil {
			e.White = m.Space.White
		}
		return e
	}
	return nil
}

// cctEnds gives the kelvin at the low and the high end of a colour temperature
// parameter.
func cctEnds(p *profiles.CCTParam) (lo, hi float64) {
	if n := len(p.Steps); n > 0 {
		return float64(p.Steps[0].Kelvin), float64(p.Steps[n-1].Kelvin)
	}
	return float64(p.From), float64(p.To)
}

// wires lists the channels of a mode in the order of its parameters, and what
// each of them is for the physics.
func wires(m *profiles.Mode, e LampFile) []Channel {
	var out []Channel
	span := func(role Role, p *profiles.Param, from, to float64, reciprocal bool) {
		// From and to stand at Lo and Hi; a channel wants them at 0 and Max.
		c := Channel{Role: role, Max: p.Max, Reciprocal: reciprocal}
		if reciprocal {
			from, to = 1/from, 1/to
		}
		s := (to - from) / float64(max(p.Hi, p.Lo+1)-p.Lo)
		c.Lo, c.Hi = from-s*float64(p.Lo), to+s*float64(p.Max-p.Hi)
		if reciprocal {
			c.Lo, c.Hi = 1/c.Lo, 1/c.Hi
		}
		out = append(out, c)
	}
	f := e.Engine
	if f == nil {
		f = &EngineFile{}
	}
	for i := range m.Emitters {
		out = append(out, Channel{Role: RoleEmitter, Emitter: i, Max: m.Emitters[i].Max, Dark: m.Emitters[i].Lo, Full: m.Emitters[i].Hi})
	}
	if m.CCT != nil {
		a, z := cctEnds(m.CCT)
		mired := m.CCT.Mired
		if f.Reciprocal != nil {
			mired = *f.Reciprocal
		}
		span(RoleFirst, &m.CCT.Param, or(f.From, a), or(f.To, z), mired)
		for _, s := range m.CCT.Steps {
			c := &out[len(out)-1]
			c.Steps = append(c.Steps, Step{s.Lo, float64(s.Kelvin)})
		}
	}
	if m.Tint != nil {
		span(RoleSecond, &m.Tint.Param, or(f.TintFrom, float64(m.Tint.From)), or(f.TintTo, float64(m.Tint.To)), false)
	}
	for i, p := range []*profiles.ScaleParam{m.X, m.Y, m.Hue, m.Sat} {
		if p != nil {
			span(RoleFirst+Role(i%2), &p.Param, p.From, p.To, false)
		}
	}
	if m.Dimmer != nil {
		out = append(out, Channel{Role: RoleDimmer, Max: m.Dimmer.Max, Dark: m.Dimmer.Lo, Full: m.Dimmer.Hi})
	}
	return out
}

// lamps makes one lamp for each head of a fixture.
func (b *builder) lamps(x *rig.Fixture, probes []string) []Lamp {
	e := b.entry(x)
	x = b.really(x, e.Mode)
	k := b.kindOf(x, e)
	unit := e.Unit
	if unit == "" {
		unit = x.Name
	}
	kindBins, unitBins := KindScatter.Scale(or(e.KindSpread, 1)), UnitScatter.Scale(or(e.Spread, 1))
	var channels []Channel
	heads := 1
	if x.Mode != nil {
		channels = wires(x.Mode, e)
		heads = max(x.Mode.Heads.Count, 1)
	}
	b.swap(channels, k.Emitters, e.Swapped)
	lux := or(e.Lux, b.file.Lux)
	if lux == 0 {
		lux = 600
	}
	// The level stands for a lamp from the middle of all bins.
	sound := k
	k.Quirks = b.quirks(&e, k.Emitters)
	middle := NewPlant(Draw(sound, Scatter{}, Scatter{}, 0, ""), channels)
	gain := lux / max(middle.Would(brightCodes(channels)).Y, 1e-6)
	if e.Dead {
		gain = 0
	}
	var out []Lamp
	for h := range heads {
		l := Lamp{Name: x.Name, Channels: channels, Universe: x.Address.Universe, Couple: map[string]float64{}, Warmth: or(e.Warm, 0),
			Bounce: b.bounce(), Change: e.change(),
			Unit: Draw(k, kindBins, unitBins, b.file.Seed, fmt.Sprintf("%s/%d", unit, h))}
		if heads > 1 {
			l.Name = fmt.Sprintf("%s/%d", x.Name, h+1)
		}
		for _, p := range probes {
			l.Couple[p] = gain * b.file.Spill
			if b.sees(p, x) && h < max(x.Heads, 1) { // heads that the rig leaves out light something else
				l.Couple[p], l.Straight = gain, append(l.Straight, p)
			}
		}
		if x.Mode != nil {
			l.Wires, l.Gate = patch(x, h, e.AddressOff)
		}
		out = append(out, l)
	}
	return out
}

// really is a fixture of the rig in the mode that it is set to itself.
func (b *builder) really(x *rig.Fixture, mode string) *rig.Fixture {
	if mode == "" {
		return x
	}
	if x.Profile == nil {
		b.fault("mode", "fixture %q has no profile, and so no mode %q", x.Name, mode)
		return x
	}
	m, err := x.Profile.Mode(mode)
	if err != nil {
		b.fault("mode", "fixture %q: %v", x.Name, err)
		return x
	}
	out := *x
	out.Mode, out.ModeName = m, mode
	return &out
}

// swap exchanges the wires of two emitters.
func (b *builder) swap(ch []Channel, emitters []Emitter, names []string) {
	if len(names) != 2 {
		return
	}
	at := func(name string) int {
		return slices.IndexFunc(emitters, func(e Emitter) bool { return e.Name == name })
	}
	i, j := at(names[0]), at(names[1])
	if i < 0 || j < 0 {
		b.fault("swapped", "there are no two emitters called %q and %q", names[0], names[1])
		return
	}
	for n := range ch {
		switch {
		case ch[n].Role != RoleEmitter:
		case ch[n].Emitter == i:
			ch[n].Emitter = j
		case ch[n].Emitter == j:
			ch[n].Emitter = i
		}
	}
}

// brightCodes is everything at full; an engine's own parameters at the middle.
func brightCodes(ch []Channel) []uint32 {
	out := make([]uint32, len(ch))
	for i, c := range ch {
		out[i] = c.Max
		if c.Role == RoleFirst || c.Role == RoleSecond {
			out[i] = c.Max / 2
		}
	}
	return out
}

// patch gives the absolute slots of each parameter of a head, and the slots
// that must stand right for light to come out: pins at their level within a
// twentieth, never-touched slots at their safe level. It listens off slots above the address that the rig has.
func patch(x *rig.Fixture, head, off int) ([]Wire, []Gate) {
	m := x.Mode
	slot := func(offset int) dmx.Slot { return x.Address.Slot + dmx.Slot(offset-1+off) }
	var out []Wire
	for _, p := range m.Params() {
		w := Wire{Still: p.Lo + (p.Hi-p.Lo)/2}
		if p.Start != nil {
			w.Still = *p.Start
		}
		if x.Address.Universe != 0 {
			for _, s := range m.HeadSlots(p, head) {
				w.Slots = append(w.Slots, slot(s))
			}
		}
		out = append(out, w)
	}
	var gates []Gate
	if x.Address.Universe == 0 {
		return out, nil
	}
	for _, p := range m.Pins {
		off := 0
		if p.EachHead {
			off = head * m.Heads.Stride
		}
		top := byte(p.Level >> (8 * max(len(p.Slots)-1, 0)))
		gates = append(gates, Gate{slot(p.Slots[0] + off), top - min(top, 12), top + min(255-top, 12)})
	}
	for _, n := range m.Never {
		off := 0
		if n.EachHead {
			off = head * m.Heads.Stride
		}
		for _, s := range n.Slots {
			gates = append(gates, Gate{slot(s + off), n.Safe, n.Safe})
		}
	}
	return out, gates
}
