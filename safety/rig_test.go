package safety_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/safety"
	"trueup/safety/check"
)

// desk is a lighting desk that shows what it is told.
type desk struct {
	mu    sync.Mutex
	look  map[dmx.Universe]*[512]byte
	state sacn.BaseState
}

func newDesk() *desk { return &desk{look: map[dmx.Universe]*[512]byte{}, state: sacn.BaseLive} }

func (d *desk) Look(u dmx.Universe, dst *[512]byte) (int, sacn.BaseState) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.state == sacn.BaseNone {
		return 0, d.state
	}
	*dst = *d.of(u)
	return 512, d.state
}

func (d *desk) of(u dmx.Universe) *[512]byte {
	if d.look[u] == nil {
		d.look[u] = new([512]byte)
	}
	return d.look[u]
}

func (d *desk) set(u dmx.Universe, s dmx.Slot, v byte) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.of(u)[s-1] = v
}

func (d *desk) become(s sacn.BaseState) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.state = s
}

// bench drives a governor by hand, with every frame under the checker's eye.
type bench struct {
	t     testing.TB
	g     *safety.Governor
	c     *check.Checker
	cfg   safety.Config
	desk  *desk
	now   time.Time
	frame map[dmx.Universe]*[512]byte
	slots map[dmx.Universe]int
	spoil string
}

var epoch = time.Date(2001, 2, 3, 4, 5, 6, 0, time.UTC)

const tick = time.Second / 44

func newBench(t testing.TB, cfg safety.Config) *bench {
	t.Helper()
	g, err := safety.NewGovernor(cfg)
	if err != nil {
		t.Fatal(err)
	}
	b := &bench{t: t, g: g, c: check.New(cfg), cfg: cfg, now: epoch, frame: map[dmx.Universe]*[512]byte{}, slots: map[dmx.Universe]int{}}
	b.desk, _ = cfg.Desk.(*desk)
	for _, u := range g.Universes() {
		b.frame[u] = new([512]byte)
	}
	return b
}

// step makes the frames that are due dt later.
func (b *bench) step(dt time.Duration) {
	b.now = b.now.Add(dt)
	if b.spoil != "" {
		b.g.Break(b.spoil)
	}
	for _, u := range b.g.Universes() {
		n := b.g.Levels(b.now, u, b.frame[u])
		b.slots[u] = n
		if s, _ := b.g.Stage(); s != safety.Running {
			b.c.Ending()
		}
		if n == 0 {
			continue
		}
		var base []byte
		if b.desk != nil {
			base = b.desk.of(u)[:]
		}
		b.c.Frame(b.now, u, b.frame[u][:n], base)
	}
}

// run makes frames for d, and feeds the watchdog.
func (b *bench) run(d time.Duration) {
	for end := b.now.Add(d); b.now.Before(end); {
		b.g.Alive()
		b.step(tick)
	}
}

// until makes frames until done says so, for at most most.
func (b *bench) until(most time.Duration, done func() bool) time.Duration {
	b.t.Helper()
	from := b.now
	for !done() {
		if b.now.Sub(from) > most {
			s, why := b.g.Stage()
			b.t.Fatalf("not done after %v (%v: %s)", most, s, why)
		}
		b.g.Alive()
		b.step(tick)
	}
	return b.now.Sub(from)
}

func (b *bench) arrived(heads ...int) func() bool {
	return func() bool {
		for _, h := range heads {
			if _, ok := b.g.Arrived(h); !ok {
				return false
			}
		}
		return true
	}
}

func (b *bench) done() bool { s, _ := b.g.Stage(); return s == safety.Done }

func (b *bench) wish(head int, codes ...uint32) {
	b.t.Helper()
	if err := b.g.Wish(head, codes); err != nil {
		b.t.Fatal(err)
	}
}

// clean fails on every violation that the checker found.
func (b *bench) clean() {
	b.t.Helper()
	for i, v := range b.c.Violations() {
		if i == 5 {
			b.t.Errorf("... %d violations in all", len(b.c.Violations()))
			break
		}
		b.t.Error(v)
	}
}

func mustCurve(f func(float64) float64) safety.Curve {
	c, err := safety.CurveOf(64, f)
	if err != nil {
		panic(err)
	}
	return c
}

var (
	linear = safety.LinearCurve()
	square = mustCurve(func(x float64) float64 { return x * x })
	scurve = mustCurve(func(x float64) float64 { return x * x * (3 - 2*x) })
	late   = mustCurve(func(x float64) float64 { return max(0, x-0.1) / 0.9 }) // dark up to a tenth
)

// at builds slot rules one after the other.
type layout struct{ next dmx.Slot }

func (l *layout) slots(n int) (list []dmx.Slot) {
	for range n {
		l.next++
		list = append(list, l.next)
	}
	return list
}

func maxOf(n int) uint32 { return uint32(uint64(1)<<(8*n) - 1) }

func (l *layout) dimmer(bytes int, c safety.Curve) safety.SlotRule {
	return safety.SlotRule{Name: "dimmer", Kind: safety.Dimmer, Slots: l.slots(bytes), Max: maxOf(bytes), Curve: c}
}

func (l *layout) emitter(name string, bytes int, c safety.Curve, weight, u, v float64) safety.SlotRule {
	return safety.SlotRule{Name: name, Kind: safety.Emitter, Slots: l.slots(bytes), Max: maxOf(bytes), Curve: c, Weight: weight, U: u, V: v}
}

func (l *layout) colour(name string, bytes int, red bool) safety.SlotRule {
	return safety.SlotRule{Name: name, Kind: safety.Colour, Slots: l.slots(bytes), Max: maxOf(bytes), Red: red}
}

func (l *layout) pin(safe uint32) safety.SlotRule {
	return safety.SlotRule{Name: "shutter", Kind: safety.Pinned, Slots: l.slots(1), Max: 255, Safe: safe}
}

func (l *layout) never(safe uint32) safety.SlotRule {
	return safety.SlotRule{Name: "reset", Kind: safety.NeverTouch, Slots: l.slots(1), Max: 255, Safe: safe}
}

// rgbw is a head of four 16 bit emitters with a 16 bit dimmer, a shutter and a
// reset slot.
func rgbw(l *layout, name string) safety.Head {
	return safety.Head{Name: name, Universe: 1, Cap: 1, Slots: []safety.SlotRule{
		l.dimmer(2, square),
		l.emitter("red", 2, linear, 20, 0.50, 0.525),
		l.emitter("green", 2, square, 50, 0.08, 0.57),
		l.emitter("blue", 2, linear, 5, 0.17, 0.12),
		l.emitter("white", 2, scurve, 100, 0.20, 0.47),
		l.pin(255), l.never(7),
	}}
}

// plain is a head of one 8 bit dimmer with a linear curve.
func plain(l *layout, name string) safety.Head {
	return safety.Head{Name: name, Universe: 1, Cap: 1, Slots: []safety.SlotRule{l.dimmer(1, linear)}}
}

// randomConfig draws a rig: anything that NewGovernor takes. It is long because the
// order of its draws is what a seed means.
func randomConfig(r *rand.Rand) safety.Config {
	l := safety.DefaultLimits()
	logs := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) }
	l.Rise, l.Fall, l.Colour = logs(0.05, 4), logs(0.05, 4), logs(0.05, 4)
	if r.IntN(2) == 0 {
		l.Rise, l.Fall = 4, 4 // the flash guard has most to do
	}
	if r.IntN(3) == 0 {
		l.LevelCap = 0.2 + 0.8*r.Float64()
	}
	if r.IntN(3) == 0 {
		l.MaxFullTime = time.Duration(1+r.IntN(5)) * time.Second
	}
	l.UVCap = logs(0.02, 1)
	l.Pace = time.Second + time.Duration(r.IntN(500))*time.Millisecond
	l.Watchdog = time.Duration(1+r.IntN(20)) * time.Second
	l.PeopleAloft = r.IntN(5) == 0
	own := r.IntN(2) == 0
	if own && !l.PeopleAloft && r.IntN(3) == 0 {
		l.Strobe = safety.Strobe{Allowed: true, Max: safety.Hertz(0.5 + 2.5*r.Float64())}
	}
	cfg := safety.Config{Limits: l}
	curves := []safety.Curve{linear, square, scurve, late}
	colours := [][2]float64{{0.50, 0.525}, {0.08, 0.57}, {0.17, 0.12}, {0.20, 0.47}, {0.30, 0.54}, {0.56, 0.515}, {0.25, 0.05}}
	lay := []*layout{{next: dmx.Slot(r.IntN(20))}, {next: dmx.Slot(r.IntN(20))}}
	for i := range 1 + r.IntN(5) {
		u := r.IntN(2)
		y := lay[u]
		h := safety.Head{Name: fmt.Sprintf("head %d", i), Universe: dmx.Universe(1 + u), Cap: 1}
		if r.IntN(3) == 0 {
			h.Cap = 0.1 + 0.9*r.Float64()
		}
		curve := func() safety.Curve {
			if r.IntN(8) == 0 {
				return nil
			}
			return curves[r.IntN(len(curves))]
		}
		if r.IntN(3) > 0 {
			h.Slots = append(h.Slots, y.dimmer(1+r.IntN(3), curve()))
		}
		if r.IntN(3) > 0 {
			weighed := r.IntN(4) > 0
			for k := range 1 + r.IntN(6) {
				w := 0.0
				if weighed {
					w = logs(0.01, 100)
				}
				xy := colours[r.IntN(len(colours))]
				if r.IntN(10) == 0 {
					xy = [2]float64{}
				}
				e := y.emitter(fmt.Sprintf("emitter %d", k), 1+r.IntN(4), curve(), w, xy[0], xy[1])
				if r.IntN(8) == 0 {
					e.UV, e.Cap = true, 0.05+0.9*r.Float64()
				} else if r.IntN(8) == 0 {
					e.Cap = 0.05 + 0.9*r.Float64()
				}
				h.Slots = append(h.Slots, e)
			}
		} else {
			for range r.IntN(3) {
				h.Slots = append(h.Slots, y.colour("parameter", 1+r.IntN(2), r.IntN(2) == 0))
			}
		}
		if r.IntN(3) == 0 {
			h.Slots = append(h.Slots, y.pin(uint32(r.IntN(256))))
		}
		if r.IntN(3) == 0 {
			h.Slots = append(h.Slots, y.never(uint32(r.IntN(256))))
		}
		if r.IntN(3) == 0 {
			h.Slots = append(h.Slots, safety.SlotRule{Name: "strobe", Kind: safety.StrobeSlot, Slots: y.slots(1), Max: 255, Safe: 255,
				Range: safety.StrobeRange{LoCode: 10, HiCode: 200, LoHz: 0.5, HiHz: 20}})
		}
		y.next += dmx.Slot(r.IntN(4))
		cfg.Heads = append(cfg.Heads, h)
	}
	if !own {
		d := newDesk()
		for u := range 2 {
			randomLook(r, d.of(dmx.Universe(1+u)))
		}
		cfg.Desk = d
		return cfg
	}
	if !l.PeopleAloft { // else the end has to be as bright as the start
		cfg.Rest = safety.Look{1: new([512]byte), 2: new([512]byte)}
		randomLook(r, cfg.Rest[1])
		randomLook(r, cfg.Rest[2])
	}
	if r.IntN(2) == 0 && !l.PeopleAloft {
		cfg.Start = safety.Look{1: new([512]byte)}
		randomLook(r, cfg.Start[1])
	}
	return cfg
}

// randomScales gives some of a rig's parameters a scale on a part of their codes. It has
// draws of its own, so that a seed of [randomConfig] means what it did.
func randomScales(r *rand.Rand, cfg *safety.Config) {
	for i := range cfg.Heads {
		for k := range cfg.Heads[i].Slots {
			s := &cfg.Heads[i].Slots[k]
			if s.Kind != safety.Dimmer && s.Kind != safety.Emitter && s.Kind != safety.Colour || r.IntN(3) > 0 {
				continue
			}
			s.Lo = uint32(r.Float64() * 0.5 * float64(s.Max))
			s.Hi = s.Lo + max(1, uint32(r.Float64()*float64(s.Max-s.Lo)))
		}
	}
}

func randomLook(r *rand.Rand, f *[512]byte) {
	for i := range f {
		switch r.IntN(4) {
		case 0:
			f[i] = 255
		case 1:
			f[i] = byte(r.IntN(256))
		default:
			f[i] = 0
		}
	}
}
