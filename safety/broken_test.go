package safety_test

import (
	"slices"
	"testing"
	"time"

	"trueup/dmx"
	"trueup/safety"
	"trueup/safety/check"
)

// The checker is only worth something if it sees a governor that fails: here
// one promise after the other is broken on purpose. It is a table, and as long as there
// are promises.
func TestTheCheckerCatchesEveryKindOfBrokenGovernor(t *testing.T) {
	full := []uint32{65535, 65535, 65535, 65535, 65535}
	fade := func(b *bench) {
		b.g.Wish(0, full)
		b.run(5 * time.Second)
		b.g.Wish(0, make([]uint32, 5))
		b.run(5 * time.Second)
	}
	for _, c := range []struct {
		kind, rule string
		cfg        func(c *safety.Config)
		story      func(b *bench)
	}{
		{kind: "rise", rule: "rise", story: func(b *bench) { b.spoil = ""; b.g.Break("rise"); fade(b) }},
		{kind: "fall", rule: "fall", story: func(b *bench) { b.spoil = ""; b.g.Break("fall"); fade(b) }},
		{kind: "jump", rule: "rise", story: fade},
		{kind: "product", rule: "rise", story: fade},
		{kind: "cap", rule: "cap", cfg: func(c *safety.Config) { c.Heads[0].Cap = 0.5 }, story: fade},
		{kind: "emitter cap", rule: "cap", cfg: func(c *safety.Config) { c.Heads[0].Slots[3].UV, c.Heads[0].Slots[3].Cap = true, 0.5 }, story: fade},
		{kind: "pinned", rule: "pinned", story: fade},
		{kind: "never", rule: "never", story: fade},
		{kind: "foreign", rule: "foreign", story: fade},
		{kind: "full", rule: "full", cfg: func(c *safety.Config) { c.Limits.MaxFullTime = time.Second },
			story: func(b *bench) { b.g.Wish(0, full); b.run(12 * time.Second) }},
		{kind: "aloft", rule: "aloft", cfg: func(c *safety.Config) {
			c.Limits.PeopleAloft = true
			c.Start = safety.Look{1: {0: 255, 1: 255, 8: 255, 9: 255}}
		}, story: func(b *bench) { b.g.Wish(0, []uint32{20000, 0, 0, 0, 65535}); b.run(9 * time.Second) }},
		{kind: "colour", rule: "colour", cfg: func(c *safety.Config) {
			y := &layout{next: 100}
			c.Heads[0].Slots = []safety.SlotRule{y.colour("tint", 2, false)}
		}, story: func(b *bench) {
			b.spoil = ""
			b.g.Break("colour")
			b.g.Wish(0, []uint32{65535})
			b.run(2 * time.Second)
		}},
		{kind: "flash", rule: "flash", cfg: func(c *safety.Config) {
			c.Limits.Rise, c.Limits.Fall = 4, 4
			y := &layout{}
			c.Heads = nil
			for range 20 {
				c.Heads = append(c.Heads, plain(y, "lamp"))
			}
		}, story: func(b *bench) {
			for n := range 44 * 20 {
				if n%5 == 0 {
					b.g.Wish(n/5%20, []uint32{uint32(255 * ((n/100 + n/5) % 2))})
				}
				b.step(tick)
			}
		}},
		{kind: "flash", rule: "red", cfg: func(c *safety.Config) {
			c.Limits.Rise, c.Limits.Fall = 4, 4
			y := &layout{}
			c.Heads = nil
			for range 20 {
				c.Heads = append(c.Heads, safety.Head{Name: "pair", Universe: 1, Cap: 1, Slots: []safety.SlotRule{
					y.emitter("red", 1, linear, 1, 0.50, 0.525), y.emitter("cyan", 1, linear, 1, 0.12, 0.45)}})
			}
		}, story: func(b *bench) {
			for n := range 44 * 20 {
				if n%5 == 0 {
					red := uint32(255 * ((n/100 + n/5) % 2))
					b.g.Wish(n/5%20, []uint32{red, 255 - red})
				}
				b.step(tick)
			}
		}},
		{kind: "strobe", rule: "strobe", cfg: func(c *safety.Config) {
			c.Limits.Strobe = safety.Strobe{Allowed: true, Max: 1}
			y := &layout{}
			c.Heads[0].Slots = []safety.SlotRule{y.dimmer(1, linear), {Name: "strobe", Kind: safety.StrobeSlot, Slots: y.slots(1), Max: 255,
				Safe: 255, Range: safety.StrobeRange{LoCode: 1, HiCode: 201, LoHz: 0.5, HiHz: 20.5}}}
		}, story: func(b *bench) {
			if b.spoil != "" {
				b.g.Break("strobe")
			}
			b.g.Wish(0, []uint32{255, 16})
			b.run(5 * time.Second)
		}},
	} {
		// Each story twice: with an honest governor and with a broken one.
		for _, broken := range []bool{false, true} {
			cfg := one(rgbw(&layout{}, "wash"))
			if c.cfg != nil {
				c.cfg(&cfg)
			}
			b := newBench(t, cfg)
			if broken {
				b.spoil = c.kind // before every frame
				b.g.Break(c.kind)
			}
			if !broken && (c.kind == "rise" || c.kind == "fall" || c.kind == "colour") {
				fade(b)
			} else {
				c.story(b)
			}
			seen := slices.ContainsFunc(b.c.Violations(), func(v check.Violation) bool { return v.Rule == c.rule })
			if broken && !seen {
				t.Errorf("%s: broken, and the checker saw no violation of %q (it saw %v)", c.kind, c.rule, b.c.Violations()[:min(3, len(b.c.Violations()))])
			}
			if !broken && len(b.c.Violations()) > 0 {
				t.Errorf("%s: an honest governor is accused: %v", c.kind, b.c.Violations()[0])
			}
		}
	}
}

func TestTheCheckerSeesAnEndThatIsNone(t *testing.T) {
	b := newBench(t, one(plain(&layout{}, "lamp")))
	b.wish(0, 200)
	b.until(3*time.Second, b.arrived(0))
	b.g.Hold("at once") // no ramp: levels stay
	b.run(time.Second)
	if b.frame[1][0] != 200 {
		t.Errorf("after Hold the lamp stands at %d, held at 200", b.frame[1][0])
	}
	b.c.End(b.now, nil)
	if v := b.c.Violations(); len(v) != 1 || v[0].Rule != "end" {
		t.Errorf("a run left in the middle: the checker says %v", v)
	}
	d := newDesk()
	cfg := one(plain(&layout{}, "lamp"))
	cfg.Desk = d
	b = newBench(t, cfg)
	b.wish(0, 200)
	b.until(3*time.Second, b.arrived(0))
	b.c.End(b.now, nil)
	if v := b.c.Violations(); len(v) != 1 || v[0].Rule != "end" {
		t.Errorf("an overlay left in the middle: the checker says %v", v)
	}
}

func TestTheCheckerReadsPacketsAndSeesLevelsAfterAGoodbye(t *testing.T) {
	c := check.New(one(plain(&layout{}, "lamp")))
	c.Packet(epoch, packet(1, 0, []byte{0, 0}), nil)
	c.Packet(epoch.Add(tick), packet(1, 0, []byte{1, 0}), nil)
	c.Packet(epoch.Add(2*tick), []byte("not a packet"), nil)
	if len(c.Violations()) != 0 || c.Terminated() {
		t.Fatal(c.Violations())
	}
	c.Packet(epoch.Add(3*tick), packet(1, 0, []byte{200, 0}), nil)
	c.Packet(epoch.Add(4*tick), packet(1, 0x40, []byte{200, 0}), nil)
	if !c.Terminated() {
		t.Error("a goodbye was not seen")
	}
	c.Packet(epoch.Add(5*tick), packet(1, 0, []byte{200, 0}), nil)
	short := packet(1, 0, []byte{200, 0})
	c.Packet(epoch.Add(6*tick), short[:len(short)-1], nil)
	var rules []string
	for _, v := range c.Violations() {
		rules = append(rules, v.Rule)
	}
	if !slices.Contains(rules, "rise") || !slices.Contains(rules, "stream") || len(rules) < 4 {
		t.Errorf("a jump, a return and a short packet gave %v", rules)
	}
}

// packet lays out an E1.31 data packet by the offsets of the standard's tables.
func packet(u dmx.Universe, options byte, levels []byte) []byte {
	b := make([]byte, 126+len(levels))
	copy(b[4:], "ASC-E1.17\x00\x00\x00")
	b[21], b[43], b[117], b[118] = 4, 2, 2, 0xa1
	b[112] = options
	b[113], b[114] = byte(u>>8), byte(u)
	b[123], b[124] = byte((len(levels)+1)>>8), byte(len(levels)+1)
	copy(b[126:], levels)
	return b
}
