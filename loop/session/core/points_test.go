package core

import (
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// A lit look is read at every point to which a person takes the meter: nothing is read on the way there, one wrong
// reading at a point does not count, a point that shows no light is left out, and the run plays again.
func TestPointsOfALitSurfaceAreRead(t *testing.T) {
	places := []colorcalc.XYZ{colorcalc.UV{U: 0.21, V: 0.48}.XYZ(100), colorcalc.UV{U: 0.214, V: 0.481}.XYZ(60), {}, colorcalc.UV{U: 0.2105, V: 0.4803}.XYZ(90)}
	var cfg Config
	b := newBench(t, 2, func(c *Config) {
		c.Work, c.Plan.Target = Points, Target{Text: "as matched", UV: places[0].UV()}
		for _, u := range c.Units[1:] {
			c.Previous = append(c.Previous, Standing{Fixture: u.Info.Name, Result: solve.Landed, Codes: solve.Drive{30000, 20000, 10000}})
		}
		c.Points = &PointPlan{Probe: "left", At: []Spot{{Name: "left"}, {Name: "middle"}, {Name: "behind the tree"}, {Name: "right"}}}
		cfg = *c
	})
	at, n, asks := 0, 0, 0
	b.read = func(_ Ask, r *Reading) {
		n++
		asks++
		r.TooDark = places[at].Y == 0
		uv := places[at].UV()
		uv.U += 0.0002 * float64(n%3-1)
		if n%6 == 3 {
			uv.U += 0.01 // somebody walks by
		}
		r.UV, r.Y = uv, places[at].Y
	}
	b.tell(Event{Kind: Begin})
	points := func() (all []PointRead) {
		for _, e := range b.log {
			if e.Point != nil {
				all = append(all, *e.Point)
			}
		}
		return all
	}
	for at = range places {
		want := cfg.Points.At[at].Name + ": put the meter there"
		b.until(want, func() bool { return len(b.d.Entries) > 0 && strings.Contains(b.log[len(b.log)-1].Note, want) })
		asks = 0
		for range 20 {
			b.answer() // time alone passes
		}
		if asks > 0 {
			t.Fatalf("the meter was read on its way to %s", cfg.Points.At[at].Name)
		}
		b.tell(Event{Kind: Next})
		b.until("it was read", func() bool { return asks > 0 && len(b.p.asks) == 0 || b.c.Over() })
	}
	b.until("the end", b.over)
	got := points()
	if b.d.Err != nil || len(got) != 3 || got[0].Name != "left" || got[1].Name != "middle" || got[2].Name != "right" {
		t.Fatalf("%v: %+v", b.d.Err, got)
	}
	for i, want := range []colorcalc.XYZ{places[0], places[1], places[3]} {
		if d := got[i].UV.Dist(want.UV()); d > 0.0003 || got[i].Lux != want.Y || got[i].Readings < pointReadings || !(got[i].SD > 0) {
			t.Errorf("%s: %.5f from the truth, %+v", got[i].Name, d, got[i])
		}
	}
	if d := got[1].Delta - places[1].UV().Dist(places[0].UV()); d > 0.0003 || d < -0.0003 {
		t.Errorf("the middle is %.4f off", got[1].Delta)
	}
	if _, err := Replay(journalOf(t, b, cfg)); err != nil {
		t.Error(err)
	}
	b.tell(Event{Kind: Next, At: b.p.now + time.Second}) // after the end nothing comes of it
}

// Points that can not be told apart are refused.
func TestPointsHaveNames(t *testing.T) {
	for _, p := range []*PointPlan{nil, {}, {At: []Spot{{Name: "a"}, {Name: "a"}}}, {At: []Spot{{}}}, {At: make([]Spot, MostPoints+1)}} {
		c := Config{Work: Points, Plan: DefaultPlan(), Units: testUnits(1), Points: p}
		if _, err := New(c); err == nil {
			t.Errorf("%+v was taken", p)
		}
	}
}
