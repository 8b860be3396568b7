package stage

import (
	"fmt"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/dmx"
)

// Wire says which slots carry a channel of a lamp: coarse first, none when the
// channel stands still at Still.
type Wire struct {
	Slots []dmx.Slot
	Still uint32
}

// Lamp is one lamp in its place: a unit, its patch, and how its light falls on
// the probes.
type Lamp struct {
	Name     string
	Unit     *Unit
	Channels []Channel
	Universe dmx.Universe
	Wires    []Wire             // one for each channel
	Gate     []Gate             // slots that must stand in a range, or the lamp is dark
	Couple   map[string]float64 // lux at a probe per unit of the lamp's flux; 0 = unseen
	Warmth   float64            // 0..1 at the start: of the warmth at full
	Straight []string           // the probes that it falls on straight
	Bounce   colorcalc.UV       // how far its colour is moved on the other probes
	Change   Change
}

// Gate is a slot such as a shutter: outside its range no light comes out.
type Gate struct {
	Slot     dmx.Slot
	From, To byte
}

// Probe is a place where a meter head lies.
type Probe struct {
	Name    string
	Ambient AmbientSpec   // whatever the lamps do
	Off     colorcalc.UV  // how far the meter's colours are from the truth
	Hands   time.Duration // a hand is over it about once in so long; 0 = never
}

// Hall is the stage in time: lamps, probes and one meter for each probe. It is
// pure: time passes by Advance, levels come by Levels. Not for use by several
// goroutines at once.
type Hall struct {
	lamps   []*standing
	patched map[dmx.Universe][]*standing // the lamps that are patched there
	probes  []*probing
	now     time.Duration
}

type standing struct {
	Lamp
	plant *Plant
	codes []uint32
	dark  bool // behind its gate
	fresh bool // no level has come yet
}

type probing struct {
	Probe
	spectro *spectrometer // nil: the meter is none
	ambient *Ambient
	hands   *Hands
	meter   *Meter
	sum     colorcalc.XYZ // light x seconds of the window at hand
	begins  time.Duration // of the window at hand
	seq     uint64
	queue   []Spoken
	lit     []*standing // the lamps that it sees
}

// Spoken is a reading with its place in time, since the hall began.
type Spoken struct {
	Probe  string
	Seq    uint64
	End    time.Duration // of the integration
	Due    time.Duration // when the meter says it
	Window time.Duration
	Dark   bool // too little light to tell a colour
	Sample Sample
	Round  float64 // step of x and y
	// Spectrum is what a spectrometer told beside it, from gridFrom nm on in steps of its own; nil: none.
	Spectrum *spectrum.Spectrum
}

// leastLux is the least light of which a meter tells a colour.
const leastLux = 0.05

// NewHall sets the stage. Each probe gets a meter of the given kind.
func NewHall(lamps []Lamp, probes []Probe, meter MeterSpec, seed uint64) *Hall {
	h := &Hall{patched: map[dmx.Universe][]*standing{}}
	if meter.Integration <= 0 {
		meter.Integration = 100 * time.Millisecond
	}
	meter.Period = max(meter.Period, meter.Integration)
	for _, l := range lamps {
		s := &standing{Lamp: l, plant: NewPlant(l.Unit, l.Channels), fresh: true, codes: make([]uint32, len(l.Channels))}
		s.plant.Preheat(l.Warmth)
		for i, w := range l.Wires { // a lamp without a wire stands as somebody left it
			s.codes[i] = w.Still
		}
		if len(l.Wires) > 0 && l.Universe == 0 {
			s.plant.Set(s.codes)
		}
		h.lamps = append(h.lamps, s)
		h.patched[l.Universe] = append(h.patched[l.Universe], s)
	}
	for _, p := range probes {
		at := &probing{Probe: p, ambient: NewAmbient(p.Ambient, seed, p.Name), hands: NewHands(p.Hands, seed, p.Name), meter: NewMeter(meter, seed, p.Name)}
		for _, l := range h.lamps {
			if l.Couple[p.Name] > 0 {
				at.lit = append(at.lit, l)
			}
		}
		h.probes = append(h.probes, at)
	}
	return h
}

// Now is the hall's time since it began.
func (h *Hall) Now() time.Duration { return h.now }

// Levels puts the slots of a universe on the lamps patched there. Slots beyond
// the end count as 0.
func (h *Hall) Levels(u dmx.Universe, slots []byte) {
	at := func(s dmx.Slot) byte {
		if s < 1 || int(s) > len(slots) {
			return 0
		}
		return slots[s-1]
	}
	for _, l := range h.patched[u] {
		if len(l.Channels) == 0 {
			continue
		}
		changed := l.fresh
		l.fresh = false
		for i, w := range l.Wires {
			code := w.Still
			for k, s := range w.Slots {
				if k == 0 {
					code = 0
				}
				code = code<<8 | uint32(at(s))
			}
			changed = changed || code != l.codes[i]
			l.codes[i] = code
		}
		dark := false
		for _, g := range l.Gate {
			v := at(g.Slot)
			dark = dark || v < g.From || v > g.To
		}
		changed = changed || dark != l.dark
		if l.dark = dark; changed {
			codes := l.codes
			if dark {
				codes = l.black()
			}
			l.here(h.now).Set(codes)
		}
	}
}

// Dial sets a lamp that no wire reaches, as a person at its knobs would: one
// code for each of its channels. Lamps on a wire are left to the wire.
func (h *Hall) Dial(name string, codes []uint32) error {
	for _, l := range h.lamps {
		if l.Name != name {
			continue
		}
		for _, w := range l.Wires {
			if len(w.Slots) > 0 {
				return fmt.Errorf("%q hangs on a wire: its slots set it", name)
			}
		}
		if len(codes) != len(l.codes) {
			return fmt.Errorf("%q has %d knobs, not %d", name, len(l.codes), len(codes))
		}
		for i, c := range codes {
			if c > l.Channels[i].Max {
				return fmt.Errorf("%q: knob %d goes from 0 to %d, not to %d", name, i+1, l.Channels[i].Max, c)
			}
		}
		l.codes = slices.Clone(codes)
		l.plant.Set(l.codes)
		return nil
	}
	return fmt.Errorf("there is no fixture called %q", name)
}

// black is a drive without light: emitters and dimmers at 0. An engine without
// a dimmer has no such drive; its gate then lets the light through.
func (l *standing) black() []uint32 {
	c := make([]uint32, len(l.codes))
	for i, ch := range l.Channels {
		if ch.Role == RoleFirst || ch.Role == RoleSecond {
			c[i] = l.codes[i]
		}
	}
	return c
}

// hallStep is how finely the meters see a changing light.
const hallStep = 5 * time.Millisecond

// Advance lets time pass and returns what the meters said meanwhile, in order
// of time.
func (h *Hall) Advance(d time.Duration) []Spoken {
	var out []Spoken
	for d > 0 {
		step := min(d, hallStep)
		for _, l := range h.lamps {
			l.plant.Advance(step)
		}
		h.now += step
		d -= step
		for _, p := range h.probes {
			out = append(out, p.watch(h, step)...)
		}
	}
	return out
}

// watch adds the light of one step to the windows that it overlaps, closes
// those that end, and says what is due.
func (p *probing) watch(h *Hall, step time.Duration) []Spoken {
	spec := p.meter.Spec
	from := h.now - step
	for {
		end := p.begins + spec.Integration
		if a, b := max(from, p.begins), min(h.now, end); b > a {
			p.sum = p.sum.Add(h.at(p, a, b).Scale((b - a).Seconds()))
			p.spectro.gather(h, p, a, b)
		}
		if from < end && h.now >= end {
			p.close()
		}
		if h.now < p.begins+spec.Period {
			break
		}
		p.begins += spec.Period
		p.sum = colorcalc.XYZ{}
		p.spectro.forget()
	}
	n := 0
	for n < len(p.queue) && p.queue[n].Due <= h.now {
		n++
	}
	due := p.queue[:n:n]
	p.queue = p.queue[n:]
	return due
}

func (p *probing) close() {
	spec := p.meter.Spec
	p.seq++
	end := p.begins + spec.Integration
	r := Spoken{Probe: p.Name, Seq: p.seq, End: end, Due: end + spec.Latency, Window: spec.Integration, Round: spec.RoundXY}
	avg := Tinted(p.sum.Scale(1/spec.Integration.Seconds()), p.Off)
	if avg.Y < leastLux {
		r.Dark = true
		p.queue = append(p.queue, r)
		return
	}
	s, ok := p.meter.Read(avg, end)
	if !ok {
		return
	}
	r.Sample = s
	r.Spectrum = p.spectro.read(avg.Y)
	p.queue = append(p.queue, r)
}

// at is the light on a probe now, lux, with the pulses of the lamps between two moments.
func (h *Hall) at(p *probing, from, to time.Duration) colorcalc.XYZ {
	c := p.ambient.At(h.now)
	for _, l := range p.lit {
		if l.plant.Dark() {
			continue
		}
		light := l.Change.At(l.here(h.now).Over(from, to).Scale(l.Couple[p.Name]), h.now)
		if !slices.Contains(l.Straight, p.Name) {
			light = Tinted(light, l.Bounce)
		}
		c = c.Add(light)
	}
	return p.hands.Through(c, h.now)
}

// Truth is the light of one lamp alone at the probe that it lights most,
// without noise and without ambient, and the codes it stands at.
type Truth struct {
	Lamp  string
	Probe string
	XYZ   colorcalc.XYZ // lux
	Codes []uint32
	At    time.Duration
}

// Truths lists the truth of every lamp now. Only tests and the demo's table
// look at it.
func (h *Hall) Truths() []Truth {
	var out []Truth
	for _, l := range h.lamps {
		t := Truth{Lamp: l.Name, At: h.now, Codes: append([]uint32{}, l.codes...)}
		best := 0.0
		for _, p := range h.probes {
			if k := l.Couple[p.Name]; k > best {
				best, t.Probe = k, p.Name
				t.XYZ = l.Change.At(l.plant.Light().Scale(k), h.now)
			}
		}
		out = append(out, t)
	}
	return out
}

// Lamp is a lamp of the hall by its name, as it was set up. Only tests look at it.
func (h *Hall) Lamp(name string) (Lamp, bool) {
	for _, l := range h.lamps {
		if l.Name == name {
			return l.Lamp, true
		}
	}
	return Lamp{}, false
}
