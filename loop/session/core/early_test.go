package core

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// ask is one for a reading of a fixture: when its setting arrived, and by how much the reading may begin before its light stands.
type ask struct{ arrived, early time.Duration }

// asksOf plays a run and gives what it asked for, by fixture.
func asksOf(t *testing.T, change func(*Config)) (before map[string][]ask) {
	t.Helper()
	b := newBench(t, 4, func(c *Config) {
		if c.Units = dimmed(4); change != nil {
			change(c)
		}
		for i := range c.Units {
			c.Units[i].SettleKnown = true // a measurement of it reads on purpose before the light stands
		}
	})
	b.read = func(_ Ask, r *Reading) { r.Told = true }
	b.tell(Event{Kind: Begin})
	before = map[string][]ask{}
	for n := 0; !b.c.Over(); n++ {
		if n > 3000 {
			t.Fatal("the run does not end")
		}
		for _, a := range b.d.Asks {
			if u := b.c.main.lit; u != nil && u.Info.Probe == a.Probe && u.at.Sent != nil && !a.Dark {
				before[u.Info.Name] = append(before[u.Info.Name], ask{u.at.At, u.at.At + u.settle - a.After})
			}
		}
		b.answer()
	}
	return before
}

// A lamp that fades in by its dimmer while another goes out is read first a little before its light stands, by less than it takes to stand
// still, and never twice so. Nothing is read early where somebody looks at what lamps do in time, or where a level is asked for.
func TestTheFirstReadingAfterAFadeMayBeginEarly(t *testing.T) {
	early := 0
	for name, all := range asksOf(t, nil) {
		for i, a := range all {
			if a.early <= 0 {
				continue
			}
			if early++; a.early > 100*time.Millisecond || i > 0 && all[i-1].arrived == a.arrived {
				t.Errorf("%s: reading %d may begin %v before its light stands, the one before it %v", name, i+1, a.early, all[max(i-1, 0)].early)
			}
		}
	}
	if early == 0 {
		t.Error("no reading begins early")
	}
	for what, change := range map[string]func(*Config){
		"a watch":            func(c *Config) { c.Plan.Watch, c.Units = 10*time.Second, c.Units[:4] }, // of the first three of a type
		"a level":            func(c *Config) { c.Plan.Common = CommonEqual },
		"a person's meter":   func(c *Config) { c.Plan.HandMeter = true },
		"emitters that fade": func(c *Config) { c.Units = testUnits(4) },
	} {
		for name, all := range asksOf(t, change) {
			for _, a := range all {
				if what == "emitters that fade" && a.early <= 30*time.Millisecond {
					continue // after a small step
				}
				if a.early > time.Millisecond {
					t.Errorf("%s: %s is read %v before its light stands", what, name, a.early)
				}
			}
		}
	}
}

// What may be left of the lamp before counts as noise of a reading that began early: by its share, and by how far its colour is.
func TestAnEarlyReadingCarriesWhatMayBeLeft(t *testing.T) {
	before := &unit{Unit: &Unit{}, own: colorcalc.XYZ{X: 1, Y: 1, Z: 1}}
	before.tally.last = &Stand{UV: colorcalc.UV{U: 0.21, V: 0.50}}
	u := &unit{Unit: &Unit{}, settle: 200 * time.Millisecond}
	u.at.At = 10 * time.Second
	how := fading{out: []*unit{before}, long: time.Second, early: 100 * time.Millisecond}
	told := true
	read := func(began time.Duration) (solve.Reading, bool) {
		u.fading = how
		net := solve.Reading{UV: colorcalc.UV{U: 0.20, V: 0.50}, Y: 1, HasY: true, SigmaUV: 3e-4, SigmaLnY: 0.005}
		early := u.unsettled(&Reading{At: began + 100*time.Millisecond, Integration: 100 * time.Millisecond, Told: told}, &net)
		return net, early
	}
	if net, early := read(10200 * time.Millisecond); early || net.SigmaUV != 3e-4 || net.SigmaLnY != 0.005 {
		t.Errorf("a reading of light that stands: early %v, %+v", early, net)
	}
	// Began 100 ms early over a fade of a second: of the lamp before there is left a tenth at first, and nothing at the end, 5 % in the mean. It
	// is 0.01 away, and more by as much as the reading is drawn to it: 0.00053.
	net, early := read(10100 * time.Millisecond)
	if want := 6.06e-4; !early || net.SigmaUV < 0.99*want || net.SigmaUV > 1.01*want || net.SigmaLnY < 0.05 {
		t.Errorf("early %v, noise %.6f and %.4f, want %.6f and at least 0.05", early, net.SigmaUV, net.SigmaLnY, want)
	}
	// Where it is not known when the meter gathers light, the tenth: 0.00111.
	told = false
	if net, _ := read(10100 * time.Millisecond); net.SigmaUV < 1.1e-3 || net.SigmaUV > 1.2e-3 {
		t.Errorf("a window that nobody told: noise %.6f", net.SigmaUV)
	}
	// Of a step a tenth of a tolerance is 0.0001 in the mean, with a lamp that answers as late as it may.
	u.tally.last = &Stand{UV: colorcalc.UV{U: 0.20, V: 0.501}, Lux: 1}
	told, how.out, how.step = true, nil, 0.001
	if net, early := read(10190 * time.Millisecond); !early || net.SigmaUV < 3.1e-4 || net.SigmaUV > 3.3e-4 {
		t.Errorf("after a step: early %v, noise %.6f", early, net.SigmaUV)
	}
}

// An exchange is read early only where it is known what the lamps before and after give; a lamp that is lit from the dark is no small step.
func TestWhatIsNotKnownOfAnExchange(t *testing.T) {
	b := newBench(t, 2, func(c *Config) { c.Units = dimmed(2) })
	u, o := b.c.units[1], b.c.units[2]
	u.at.Sent, u.final = solve.Drive{1, 2, 3, 0}, solve.Drive{1, 2, 3, 65535}
	known := func() bool { b.c.exchanged(u, u.final, []*unit{o}); return u.fading.out != nil }
	if known() {
		t.Error("nothing is known of the lamp before")
	}
	o.own, o.tally.last = colorcalc.XYZ{X: 1, Y: 1, Z: 1}, &Stand{}
	if !known() {
		t.Error("both are known, and its mix stands")
	}
	u.adrift = true
	if known() {
		t.Error("nobody knows where it stands")
	}
	u.adrift, u.at.Sent = false, solve.Drive{1, 2, 20000, 0}
	if known() {
		t.Error("its mix is to move by a third of a scale")
	}
}
