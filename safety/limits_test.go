package safety_test

import (
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"trueup/safety"
)

// Zero, negative, NaN, infinite or left out: never "no limit".
func TestEveryLimitThatIsNoneIsRefused(t *testing.T) {
	if err := safety.DefaultLimits().Check(); err != nil {
		t.Fatal(err)
	}
	if err := (safety.Limits{}).Check(); err == nil {
		t.Error("limits that are all missing were taken")
	}
	n := 0
	typ := reflect.TypeFor[safety.Limits]()
	for i := range typ.NumField() {
		for _, bad := range []float64{0, -1, math.NaN(), math.Inf(1), math.Inf(-1), 1e9} {
			l := safety.DefaultLimits()
			f := reflect.ValueOf(&l).Elem().Field(i)
			switch f.Interface().(type) {
			case float64:
				f.SetFloat(bad)
			case time.Duration:
				if math.IsNaN(bad) {
					continue
				}
				f.SetInt(map[bool]int64{true: math.MaxInt64, false: int64(min(bad, 0))}[bad > 0])
			default:
				continue
			}
			n++
			if l.Check() == nil {
				t.Errorf("%s = %v was taken", typ.Field(i).Name, f.Interface())
			}
			if _, err := safety.NewGovernor(safety.Config{Limits: l, Heads: []safety.Head{plain(&layout{}, "x")}}); err == nil {
				t.Errorf("a governor was made with %s = %v", typ.Field(i).Name, f.Interface())
			}
		}
	}
	if n < 50 {
		t.Errorf("only %d limits were tried", n)
	}
}

func TestTheStrobeCeilingCannotBeRaised(t *testing.T) {
	for _, s := range []safety.Strobe{{Allowed: true}, {Allowed: true, Max: 3.01}, {Allowed: true, Max: safety.Hertz(math.NaN())}, {Allowed: true, Max: -1}, {Max: 2}} {
		l := safety.DefaultLimits()
		l.Strobe = s
		if l.Check() == nil {
			t.Errorf("%+v was taken", s)
		}
	}
	l := safety.DefaultLimits()
	l.Strobe = safety.Strobe{Allowed: true, Max: 3}
	if err := l.Check(); err != nil {
		t.Error(err)
	}
	l.PeopleAloft = true
	if l.Check() == nil {
		t.Error("strobing over people aloft was taken")
	}
}

func TestAHeadThatCannotBeGovernedIsRefused(t *testing.T) {
	good := func() safety.Config { return one(rgbw(&layout{}, "a")) }
	if _, err := safety.NewGovernor(good()); err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	for name, spoil := range map[string]func(c *safety.Config, h *safety.Head){
		"no head":             func(c *safety.Config, h *safety.Head) { c.Heads = nil },
		"no cap":              func(c *safety.Config, h *safety.Head) { h.Cap = 0 },
		"NaN cap":             func(c *safety.Config, h *safety.Head) { h.Cap = nan },
		"no universe":         func(c *safety.Config, h *safety.Head) { h.Universe = 0 },
		"slot 0":              func(c *safety.Config, h *safety.Head) { h.Slots[0].Slots[0] = 0 },
		"slot 513":            func(c *safety.Config, h *safety.Head) { h.Slots[0].Slots[0] = 513 },
		"no slots":            func(c *safety.Config, h *safety.Head) { h.Slots[0].Slots = nil },
		"wrong max":           func(c *safety.Config, h *safety.Head) { h.Slots[0].Max = 255 },
		"no kind":             func(c *safety.Config, h *safety.Head) { h.Slots[0].Kind = 0 },
		"two dimmers":         func(c *safety.Config, h *safety.Head) { h.Slots[1].Kind = safety.Dimmer },
		"falling curve":       func(c *safety.Config, h *safety.Head) { h.Slots[0].Curve = safety.Curve{0, 0.5, 0.4, 1} },
		"NaN curve":           func(c *safety.Config, h *safety.Head) { h.Slots[0].Curve = safety.Curve{0, nan, 1} },
		"curve not to full":   func(c *safety.Config, h *safety.Head) { h.Slots[0].Curve = safety.Curve{0, 0.5} },
		"empty curve":         func(c *safety.Config, h *safety.Head) { h.Slots[0].Curve = safety.Curve{} },
		"negative weight":     func(c *safety.Config, h *safety.Head) { h.Slots[1].Weight = -1 },
		"some weights":        func(c *safety.Config, h *safety.Head) { h.Slots[1].Weight = 0 },
		"infinite weight":     func(c *safety.Config, h *safety.Head) { h.Slots[1].Weight = math.Inf(1) },
		"no chromaticity":     func(c *safety.Config, h *safety.Head) { h.Slots[1].U = nan },
		"UV without cap":      func(c *safety.Config, h *safety.Head) { h.Slots[1].UV = true },
		"UV dimmer":           func(c *safety.Config, h *safety.Head) { h.Slots[0].UV, h.Slots[0].Cap = true, 1 },
		"cap above 1":         func(c *safety.Config, h *safety.Head) { h.Slots[1].Cap = 1.1 },
		"safe value too high": func(c *safety.Config, h *safety.Head) { h.Slots[5].Safe = 256 },
		"overlap":             func(c *safety.Config, h *safety.Head) { c.Heads = append(c.Heads, plain(&layout{next: 3}, "b")) },
		"locked": func(c *safety.Config, h *safety.Head) {
			c.Locked = []safety.SlotRange{{Universe: 1, First: 2, Last: 5}}
		},
		"locked below us": func(c *safety.Config, h *safety.Head) {
			c.Heads = append(c.Heads, plain(&layout{next: 99}, "b"))
			c.Locked = []safety.SlotRange{{Universe: 1, First: 50, Last: 60}}
		},
		"locked nowhere": func(c *safety.Config, h *safety.Head) {
			c.Locked = []safety.SlotRange{{Universe: 1, First: 60, Last: 50}}
		},
		"strobe in an overlay": func(c *safety.Config, h *safety.Head) {
			c.Desk = newDesk()
			c.Limits.Strobe = safety.Strobe{Allowed: true, Max: 1}
		},
		"strobe of unknown Hz": func(c *safety.Config, h *safety.Head) { h.Slots[5].Kind = safety.StrobeSlot },
		"dark end, people aloft": func(c *safety.Config, h *safety.Head) {
			c.Limits.PeopleAloft = true
			c.Start = safety.Look{1: {0: 255, 1: 255, 8: 255, 9: 255}}
			c.Rest = safety.Look{}
		},
	} {
		c := good()
		spoil(&c, &c.Heads[0])
		if _, err := safety.NewGovernor(c); err == nil {
			t.Errorf("%s: taken", name)
		} else if name != "no head" && len(err.Error()) < 15 {
			t.Errorf("%s: %v says too little", name, err)
		}
	}
}

func TestAloneOnAUniverseThePacketEndsBeforeLockedSlots(t *testing.T) {
	c := one(plain(&layout{}, "lamp"))
	c.Locked = []safety.SlotRange{{Universe: 1, First: 500, Last: 512}}
	b := newBench(t, c)
	b.run(time.Second)
	if b.slots[1] >= 500 {
		t.Errorf("the frame has %d slots and reaches the house lights", b.slots[1])
	}
	b.clean()
}

func TestLimitsAndCautionsAreSaidInWords(t *testing.T) {
	l := safety.DefaultLimits().Aloft()
	text := strings.Join(l.Describe(), "\n")
	for _, want := range []string{"20 % of full a second", "three flashes", "people aloft", "stay open", "5 s"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not said in:\n%s", want, text)
		}
	}
	for _, want := range []string{"seizure", "ultraviolet", "IEC 62471", "ladder", "Heat", "local codes", "licensed"} {
		if !strings.Contains(safety.Cautions, want) {
			t.Errorf("the cautions do not say %q", want)
		}
	}
}
