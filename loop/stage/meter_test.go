package stage

import (
	"math"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/dmx"
)

// A meter's noise, outliers, dropouts and repeats come as often and as strong
// as its description says.
func TestMeterFaultsHaveTheirFrequencies(t *testing.T) {
	spec := MeterSpec{SigmaUV: 0.0005, SigmaLevel: 0.006, Outlier: 0.02, Dropout: 0.03, Stale: 0.02}
	m := NewMeter(spec, 11, "x")
	light := colorcalc.XY{X: 0.37, Y: 0.36}.XYZ(500)
	const n = 60000
	drop, out, stale, kept := 0, 0, 0, 0.0
	var suu, svv, sy float64
	var last Sample
	for range n {
		s, ok := m.Read(light, 0)
		switch d := s.XY.UV().Dist(light.UV()); {
		case !ok:
			drop++
			continue
		case s == last:
			stale++
		case d > 0.0035:
			out++
		default:
			du, dv, dy := s.XY.UV().U-light.UV().U, s.XY.UV().V-light.UV().V, math.Log(s.Lux/light.Y)
			suu, svv, sy, kept = suu+du*du, svv+dv*dv, sy+dy*dy, kept+1
		}
		last = s
	}
	near(t, "dropouts", float64(drop)/n, 0.03, 0.003)
	near(t, "repeats", float64(stale)/n, 0.02, 0.003)
	near(t, "outliers", float64(out)/n, 0.02, 0.003)
	near(t, "sigma u'", math.Sqrt(suu/kept), 0.0005, 0.00001)
	near(t, "sigma v'", math.Sqrt(svv/kept), 0.0005, 0.00001)
	near(t, "sigma ln Y", math.Sqrt(sy/kept), 0.006, 0.0001)
}

// Digits are rounded to the meter's last one, and print as such.
func TestMeterRounds(t *testing.T) {
	m := NewMeter(MeterSpec{RoundXY: 1e-4, RoundLux: 0.1}, 1, "x")
	s, _ := m.Read(colorcalc.XY{X: 0.312712, Y: 0.329049}.XYZ(123.4321), 0)
	if s.XY != (colorcalc.XY{X: 0.3127, Y: 0.3290}) || s.Lux != 123.4 {
		t.Errorf("got %v %v", s.XY, s.Lux)
	}
}

// switching is a lamp without fade or heat on one probe, 1 lux per unit.
func switching() *Hall {
	k := Kind{Name: "w", Emitters: emittersCalled("white")}
	u := Draw(k, Scatter{}, Scatter{}, 1, "")
	l := Lamp{Name: "w", Unit: u, Channels: driven(1, 255), Universe: 1, Wires: []Wire{{Slots: []dmx.Slot{1}}}, Couple: map[string]float64{"mark": 100}}
	return NewHall([]Lamp{l}, []Probe{{Name: "mark", Ambient: AmbientSpec{Light: colorcalc.XY{X: 1.0 / 3, Y: 1.0 / 3}.XYZ(1)}}},
		MeterSpec{Integration: 100 * time.Millisecond, Period: 200 * time.Millisecond, Latency: 30 * time.Millisecond}, 1)
}

// Light that changes inside a meter's window is averaged over time: 40 ms of
// 1 lux and 60 ms of 101 lux read 61 lux, at the window's end, said later.
func TestMeterAveragesChangingLight(t *testing.T) {
	h := switching()
	h.Levels(1, []byte{0})
	out := h.Advance(40 * time.Millisecond)
	h.Levels(1, []byte{255})
	out = append(out, h.Advance(89*time.Millisecond)...)
	if len(out) != 0 {
		t.Fatalf("%d readings before the latency is over", len(out))
	}
	out = h.Advance(time.Millisecond)
	if len(out) != 1 {
		t.Fatalf("%d readings, want 1", len(out))
	}
	r := out[0]
	near(t, "lux", r.Sample.Lux, 61, 1e-6)
	if r.End != 100*time.Millisecond || r.Due != 130*time.Millisecond || r.Seq != 1 {
		t.Errorf("end %v, due %v, seq %d", r.End, r.Due, r.Seq)
	}
	out = h.Advance(200 * time.Millisecond)
	if len(out) != 1 || out[0].End != 300*time.Millisecond {
		t.Fatalf("second reading: %+v", out)
	}
	near(t, "lux of the second window", out[0].Sample.Lux, 101, 1e-6)
}

// The cut of time into calls does not change what is read.
func TestHallReadsTheSameHoweverTimeIsCut(t *testing.T) {
	run := func(steps ...time.Duration) (lux []float64) {
		h := switching()
		h.Levels(1, []byte{120})
		for h.Now() < 2*time.Second {
			for _, d := range steps {
				for _, r := range h.Advance(d) {
					lux = append(lux, r.Sample.Lux)
				}
			}
		}
		return lux
	}
	a, b := run(10*time.Millisecond), run(3*time.Millisecond, 14*time.Millisecond)
	if len(a) < 9 || len(b) < 9 {
		t.Fatalf("%d and %d readings", len(a), len(b))
	}
	for i := range min(len(a), len(b)) {
		near(t, "lux", a[i], b[i], 1e-9)
	}
}

// Too little light has no colour: the reading says so instead of inventing one.
func TestDarkReadsDark(t *testing.T) {
	h := switching()
	h.probes[0].ambient = NewAmbient(AmbientSpec{}, 1, "mark")
	out := h.Advance(time.Second)
	if len(out) == 0 || !out[0].Dark {
		t.Fatalf("%+v", out)
	}
}

// A pinned slot that stands wrong keeps the lamp dark.
func TestShutterKeepsTheLampDark(t *testing.T) {
	h := switching()
	h.lamps[0].Gate = []Gate{{Slot: 2, From: 240, To: 255}}
	h.Levels(1, []byte{255, 100})
	h.Advance(time.Second)
	near(t, "behind the shutter", h.Truths()[0].XYZ.Y, 0, 0)
	h.Levels(1, []byte{255, 255})
	h.Advance(time.Second)
	near(t, "shutter open", h.Truths()[0].XYZ.Y, 100, 1e-6)
}

// The truth is one lamp alone: no ambient, no neighbours, no noise.
func TestTruthIsTheLampAlone(t *testing.T) {
	h := switching()
	h.Levels(1, []byte{255})
	h.Advance(time.Second)
	e, _ := Nominal("white")
	got := h.Truths()[0]
	if d := got.XYZ.UV().Dist(e.Light().UV()); d > 1e-9 || got.Probe != "mark" || got.Lamp != "w" {
		t.Errorf("%+v is %.6f from the emitter's own light", got, d)
	}
}

// A person's hand reaches lamps without a wire, and no others.
func TestHandsReachLampsWithoutAWire(t *testing.T) {
	h := switching()
	h.Levels(1, []byte{255})
	if err := h.Dial("w", []uint32{10}); err == nil {
		t.Error("a lamp on a wire was dialled")
	}
	h.lamps[0].Wires[0].Slots = nil
	for _, bad := range [][]uint32{nil, {1, 2}, {256}} {
		if err := h.Dial("w", bad); err == nil {
			t.Errorf("%v was dialled", bad)
		}
	}
	if err := h.Dial("x", []uint32{1}); err == nil {
		t.Error("a lamp that is not there was dialled")
	}
	if err := h.Dial("w", []uint32{51}); err != nil {
		t.Fatal(err)
	}
	h.Advance(time.Second)
	near(t, "a fifth", h.Truths()[0].XYZ.Y, 20, 0.5)
}

// A meter that means its last windows follows a step in as many, and one that has rested has nothing to remember.
func TestAMeterMeansItsLastWindows(t *testing.T) {
	m := NewMeter(MeterSpec{Period: 300 * time.Millisecond, Mean: 3}, 1, "mark")
	for k, want := range []float64{100, 100, 100, 200, 300, 400} {
		light := white(100)
		if k > 2 {
			light = white(400)
		}
		s, ok := m.Read(light, time.Duration(k+1)*m.Spec.Period)
		if !ok {
			t.Fatal("no reading")
		}
		near(t, "level", s.Lux, want, 1e-6)
	}
	s, _ := m.Read(white(50), time.Minute)
	near(t, "after a rest", s.Lux, 50, 1e-6)
}

// A meter with ranges loses the first window in another one, and what it means goes on across that.
func TestAMeterLosesAWindowWhereItsRangeChanges(t *testing.T) {
	m := NewMeter(MeterSpec{Period: 300 * time.Millisecond, Mean: 3, Ranges: []float64{10, 200}}, 1, "mark")
	for k, want := range []float64{5, 5, 0, 110. / 3, 205. / 3, 100, 0} { // 0: none
		light := white(5)
		if k > 1 {
			light = white(100)
		}
		if k > 5 {
			light = white(200)
		}
		s, ok := m.Read(light, time.Duration(k+1)*m.Spec.Period)
		if ok != (want > 0) {
			t.Fatalf("window %d: reading %v, want %.0f", k, ok, want)
		}
		near(t, "level", s.Lux, want, 1e-6)
	}
}
