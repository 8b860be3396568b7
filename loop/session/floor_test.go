package session

import (
	"testing"
	"time"

	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/profiles/law"
	"trueup/safety"
)

// What moves before a reading moves at the same time and counts once, the longest of it; a lamp that goes out for a reading of the dark
// counts too, and a dark lamp that takes another colour does not. What a reading sees of a fade takes no time of its own.
func TestFloorOfMoves(t *testing.T) {
	const top = 65535
	unit := func(name string, head int) core.Unit {
		return core.Unit{Info: core.FixtureInfo{Name: name, Probe: "mark"}, Head: head, Rest: solve.Drive{0, 0}, Dark: []core.AxisCode{{Axis: 1}},
			Spec: solve.Spec{Kind: solve.CCT, Channels: []solve.Channel{{Name: "cct", Max: top, Hi: top}, {Name: "dimmer", Max: top, Hi: top}},
				Dimmer: &solve.DimmerSpec{Channel: 1, Level: law.Level{Range: law.Whole(top), Curve: law.Curve{Law: law.Linear}}}}}
	}
	var f Floor
	f.Take(&Entry{Run: &RunInfo{Rates: &core.Rates{Rise: 0.5, Fall: 0.25, Colour: 1}, Core: &core.Config{Units: []core.Unit{unit("a", 0), unit("b", 1)}}}})
	began := time.Second
	arrived := func(head int, codes ...uint32) {
		f.Take(&Entry{Kind: core.KindEvent, Event: &core.Event{Kind: core.Arrived, Head: head, Sent: codes, When: time.Second}})
	}
	read := func(kind core.Kind) {
		f.Take(&Entry{Kind: kind, Event: &core.Event{Kind: core.Read, Reading: &core.Reading{At: began + 150*time.Millisecond, Integration: 150 * time.Millisecond}}})
	}
	half := time.Duration(safety.Pace(float64(top/2)/top, true) * float64(time.Second))
	for _, s := range []struct {
		what string
		do   func()
		want time.Duration
	}{
		{"one lamp comes up", func() { arrived(0, 0, top/2); read(core.KindReading) }, 2 * half},
		{"it is read again", func() { read(core.KindReading) }, 0},
		{"another one in its place", func() { arrived(1, 0, top/2); arrived(0, 0, 0); read(core.KindReading) }, 4 * half},
		{"the first takes another colour in the dark", func() { arrived(0, top, 0); read(core.KindReading) }, 0},
		{"all go out", func() { arrived(1, 0, 0); read(core.KindBackground) }, 4 * half},
		{"the first again, read before it is there", func() { arrived(0, top, top/2); began -= 100 * time.Millisecond; read(core.KindReading) }, 2*half - 100*time.Millisecond},
	} {
		before := f.Ramps
		s.do()
		if got := f.Ramps - before; got < s.want-time.Millisecond || got > s.want+time.Millisecond {
			t.Errorf("%s: %v, want %v", s.what, got, s.want)
		}
	}
}
