package session

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/profiles"
	"trueup/safety"
)

// compiled compiles a rig written here, with the example profiles.
func compiled(t *testing.T, fixtures string) *Compiled {
	t.Helper()
	dir, err := filepath.Abs("../../examples/profiles")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "rig.yaml")
	text := "rig: r\noutput: {mode: own, unicast: [\"127.0.0.1:5568\"]}\ntarget: {color: 4300 K, level: 25 %}\nfixtures:\n" +
		os.Expand(fixtures, func(string) string { return filepath.ToSlash(dir) })
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	r, err := rig.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	c, err := Compile(r)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// What the solver drives, the governor moves and the profile encodes are the
// same slots in the same order, for every example profile that has slots.
func TestSolverGovernorAndProfileAgreeOnEverySlot(t *testing.T) {
	paths, err := filepath.Glob("../../examples/profiles/*.yaml")
	if err != nil || len(paths) < 10 {
		t.Fatal(paths, err)
	}
	units := 0
	for _, path := range paths {
		for _, mode := range modesOf(t, path) {
			c := compiled(t, "  - {name: x, profile: $P/"+filepath.Base(path)+", mode: \""+mode+"\", address: 1/100}\n")
			for _, u := range c.Units {
				if u.Head >= 0 {
					units++
					agreeOnEverySlot(t, path+" "+mode, u, c.Heads[u.Head])
				}
			}
			if len(c.Heads) > 0 {
				if _, err := safety.NewGovernor(safety.Config{Limits: safety.DefaultLimits(), Heads: c.Heads, Start: c.Start}); err != nil {
					t.Errorf("%s %s: %v", path, mode, err)
				}
			}
		}
	}
	if units < 12 {
		t.Errorf("only %d units compiled", units)
	}
}

// agreeOnEverySlot sets a unit to lopsided codes and reads them as governor and profile do.
func agreeOnEverySlot(t *testing.T, name string, u *Unit, h safety.Head) {
	t.Helper()
	d := slices.Clone(u.Rest)
	for i := range d { // inside every range
		ch := u.Spec.Channels[i]
		d[i] = ch.Lo + (ch.Hi-ch.Lo)/uint32(i+3)
	}
	var universe [512]byte
	for _, s := range u.Slots(d) {
		universe[s.Slot-1] = s.Value
	}
	for i, ch := range u.Spec.Channels {
		code := uint32(0)
		for _, at := range ch.Slots {
			code = code<<8 | uint32(universe[u.Spec.Address-1+at])
		}
		if code != d[i] || len(ch.Slots) == 0 || u.Universe != 1 || u.Spec.Footprint() > len(u.Still) {
			t.Errorf("%s %s: slots %v from %d/%d carry %d, not %d", name, ch.Name, ch.Slots, u.Universe, u.Spec.Address, code, d[i])
		}
	}
	for i := range d {
		r := h.Slots[i]
		var code uint32
		for _, s := range r.Slots {
			code = code<<8 | uint32(universe[s-1])
		}
		if code != d[i] || r.Max != u.Spec.Channels[i].Max {
			t.Errorf("%s, %s: governor sees %d of %d, solver %d of %d", name, r.Name, code, r.Max, d[i], u.Spec.Channels[i].Max)
		}
	}
	back, err := u.Decode(&universe)
	if err != nil || !slices.Equal(back, d) {
		t.Errorf("%s: decoded %v, set %v (%v)", name, back, d, err)
	}
	if len(u.Settings(d)) != len(d) {
		t.Errorf("%s: %d settings for %d parameters", name, len(u.Settings(d)), len(d))
	}
}

func modesOf(t *testing.T, path string) []string {
	t.Helper()
	p, err := profiles.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, m := range p.Modes {
		if m.Footprint > 0 && m.Kind.String() != "fixed" {
			names = append(names, m.Name)
		}
	}
	return names
}

// A dimmer that eight heads share stands at full, and belongs to none of them.
func TestHeadsThatShareADimmerLeaveItAtFull(t *testing.T) {
	c := compiled(t, "  - {name: bar, profile: $P/stannelow-pixel-bar.yaml, mode: \""+modesOf(t, "../../examples/profiles/stannelow-pixel-bar.yaml")[0]+"\", address: 1/1}\n")
	if len(c.Units) != 8 {
		t.Fatalf("%d units", len(c.Units))
	}
	for _, u := range c.Units {
		if slices.Contains(u.Info.Parameters, "dimmer") {
			t.Errorf("%s has the shared dimmer among its own parameters", u.Info.Name)
		}
	}
	if got := c.Start[1][0]; got != 255 {
		t.Errorf("the shared dimmer starts at %d", got)
	}
}

// The solver is told what a profile says of the other modes of its fixtures, and in which slots; of a profile without another, and of modes that a person sets, nothing.
func TestTheSolverKnowsTheOtherModesOfAProfile(t *testing.T) {
	c := compiled(t, "  - {name: x, profile: $P/pellowick-hue-sat.yaml, mode: HSI 16 bit, address: 1/100}\n"+
		"  - {name: y, profile: $P/farnwibble-wash-16.yaml, address: 2/1}\n")
	modes := c.Modes[c.Units[0].Type]
	for _, want := range []struct {
		mode  string
		slots map[string]int
	}{{"HSI 8 bit", map[string]int{"hue": 0, "saturation": 1, "dimmer": 2}}, {"HSI wide", map[string]int{"hue": 1, "saturation": 2, "dimmer": 0}}} {
		i := slices.IndexFunc(modes, func(s solve.Spec) bool { return s.Name == want.mode })
		if i < 0 {
			t.Errorf("%s is not told", want.mode)
			continue
		}
		for _, ch := range modes[i].Channels {
			if slot, ok := want.slots[ch.Name]; !ok || !slices.Equal(ch.Slots, []int{slot}) {
				t.Errorf("%s: %s has the slots %v", want.mode, ch.Name, ch.Slots)
			}
		}
	}
	if len(modes) != 2 || len(c.Modes) != 1 {
		t.Errorf("of %d types other modes are told, of the first %d", len(c.Modes), len(modes))
	}
}
