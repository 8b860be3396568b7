package core

import (
	"math"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// ask is one for a reading of a fixture: when its setting arrived, and by how much the reading may begin before its light stands.
type ask struct {
	arrived, early time.Duration
	step           bool // of a lamp that was lit
}

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
	last := uint64(0)
	for n := 0; !b.c.Over(); n++ {
		if n > 3000 {
			t.Fatal("the run does not end")
		}
		for _, a := range b.d.Asks {
			if a.ID <= last || a.ID >= besideAsk {
				continue
			}
			last = a.ID
			if u := b.c.main.lit; u != nil && u.Info.Probe == a.Probe && u.at.Sent != nil && !a.Dark && b.c.main.later == nil {
				before[u.Info.Name] = append(before[u.Info.Name], ask{u.at.At, u.at.At + u.settle - a.After, u.fading.out == nil})
			}
		}
		b.answer()
	}
	return before
}

// A lamp that fades in by its dimmer while another goes out is read first a little before its light stands, by less than a reading and the time
// it takes to stand still, and never twice so. Nothing is read early where somebody looks at what lamps do in time, or where a level is asked for.
func TestTheFirstReadingAfterAFadeMayBeginEarly(t *testing.T) {
	early := 0
	for name, all := range asksOf(t, nil) {
		for i, a := range all {
			if a.early <= 0 {
				continue
			}
			if early++; a.early > 400*time.Millisecond || i > 0 && all[i-1].arrived == a.arrived {
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
				if what == "emitters that fade" && a.step {
					continue
				}
				if a.early > time.Millisecond {
					t.Errorf("%s: %s is read %v before its light stands", what, name, a.early)
				}
			}
		}
	}
}

// What should be left of the lamp before is taken off a reading that began early, and what is not sure of that counts as noise of it.
func TestAnEarlyReadingIsPutRight(t *testing.T) {
	b := newBench(t, 2, nil)
	before, u := b.c.units[1], b.c.units[2]
	before.Info.Probe = u.Info.Probe
	before.own = colorcalc.UV{U: 0.21, V: 0.50}.XYZ(1)
	before.tally.last = &Stand{UV: colorcalc.UV{U: 0.21, V: 0.50}}
	u.settle, u.at.At = 0, 10*time.Second
	stood := ramp{10 * time.Second, 10 * time.Second, time.Second, 0}
	how := fading{fadesIn: true, out: []*unit{before}, up: stood, down: []ramp{stood}, stands: 10 * time.Second, early: 100 * time.Millisecond}
	read := func(began time.Duration, light colorcalc.XYZ) (solve.Reading, bool) {
		u.fading = how
		net := solve.Reading{UV: light.UV(), Y: light.Y, HasY: true, SigmaUV: 3e-4, SigmaLnY: 0.005}
		early := b.c.unsettled(u, &Reading{At: began + 100*time.Millisecond, Integration: 100 * time.Millisecond, Told: true}, &net)
		return net, early
	}
	own := colorcalc.UV{U: 0.20, V: 0.50}.XYZ(2)
	if net, early := read(10*time.Second, own); early || net.SigmaUV != 3e-4 || net.SigmaLnY != 0.005 {
		t.Errorf("a reading of light that stands: early %v, %+v", early, net)
	}
	// Began 100 ms early over fades of a second: of the lamp before there is left a tenth at first, and nothing at the end, 5 % in the mean; as
	// much is wanting of the lamp itself.
	mixed := own.Scale(0.95).Add(before.own.Scale(0.05))
	net, early := read(9900*time.Millisecond, mixed)
	if far := net.UV.Dist(own.UV()); !early || far > 1e-9 || math.Abs(net.Y-2) > 1e-9 {
		t.Errorf("early %v, %.6f off, level %.4f", early, far, net.Y)
	}
	if add := math.Sqrt(net.SigmaUV*net.SigmaUV - 9e-8); add < 0.1*mixed.UV().Dist(own.UV()) || add > 0.5*mixed.UV().Dist(own.UV()) {
		t.Errorf("noise grows by %.6f, for %.6f taken off", add, mixed.UV().Dist(own.UV()))
	}
	// Two thirds of the light are of a bright lamp before: what is left when it is taken off has all the noise of the sum.
	before.own = before.own.Scale(76)
	net, _ = read(9900*time.Millisecond, own.Scale(0.95).Add(before.own.Scale(0.05)))
	if far := net.UV.Dist(own.UV()); far > 1e-9 || net.SigmaUV < 9e-4 || net.SigmaLnY < 0.015 {
		t.Errorf("beside a bright lamp: %.6f off, %+v", far, net)
	}
	before.own = before.own.Scale(1. / 76)
	// Lamps that may answer at any time within 200 ms: what is taken off is half of the most, and the other half is noise.
	how.up.latest, how.down[0].latest = 10200*time.Millisecond, 10200*time.Millisecond
	how.stands = 10200 * time.Millisecond
	for _, answers := range []time.Duration{0, 100, 200} {
		left := ramp{long: time.Second}.leftAt(10*time.Second+answers*time.Millisecond, 9900*time.Millisecond, 10*time.Second)
		net, _ := read(9900*time.Millisecond, own.Scale(1-left).Add(before.own.Scale(left)))
		if far := net.UV.Dist(own.UV()); far > 2*net.SigmaUV || net.SigmaUV > 2e-3 {
			t.Errorf("light follows after %d ms: %.5f off, noise %.5f", answers, far, net.SigmaUV)
		}
	}
	// Of a step the part that had not been taken is added.
	how = fading{step: colorcalc.UV{V: 0.001}, up: ramp{10 * time.Second, 10 * time.Second, frame, 0}, stands: 10 * time.Second, early: 50 * time.Millisecond}
	u.tally.last = &Stand{UV: colorcalc.UV{U: 0.20, V: 0.499}, Lux: 2}
	if net, early := read(9950*time.Millisecond, colorcalc.UV{U: 0.20, V: 0.4996}.XYZ(2)); !early || net.UV.V < 0.49995 || net.UV.V > 0.50015 || net.SigmaUV > 4e-4 {
		t.Errorf("after a step: early %v, %+v", early, net)
	}
}

// What is left of a light's way is its mean over the reading, however much of the way the reading sees.
func TestWhatIsLeftOfAWay(t *testing.T) {
	r := ramp{long: time.Second}
	for _, c := range []struct {
		from, to time.Duration
		want     float64
	}{
		{0, 100, 0},
		{-100, 0, 0.05},
		{-100, 100, 0.025},
		{-1000, 0, 0.5},
		{-2000, -1000, 1},
		{-2000, 0, 0.75},
	} {
		if got := r.leftAt(10*time.Second, 10*time.Second+c.from*time.Millisecond, 10*time.Second+c.to*time.Millisecond); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("from %d to %d ms: %.4f, want %.4f", c.from, c.to, got, c.want)
		}
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
