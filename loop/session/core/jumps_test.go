package core

import (
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// Where a light blinks at another probe, one change that came while this probe was watched shows that it sees it too. What had changed
// since the passage before, by the first reading of the watch, may have been a door, and so may one change long after that light would have changed: nobody is blamed for it.
func TestOneChangeBetweenPassagesIsNoBlinking(t *testing.T) {
	up := colorcalc.XYZ{X: 9, Y: 10, Z: 11}
	began := 40 * time.Second
	c := newBench(t, 1, nil).c
	for at, want := range map[time.Duration]bool{began: false, began + time.Second: true, began + 45*time.Second: false} {
		for beside, want := range map[bool]bool{true: want, false: false} {
			d := &dark{Background: scene.NewBackground(up, 5, c.meter(""), 0)}
			if beside {
				d.beside = []scene.Jump{{At: 10 * time.Second, By: up}, {At: 16 * time.Second, By: up.Scale(-1)}, {At: 19 * time.Second, By: up}}
			}
			if got := d.blinksBy(c, up, []scene.Jump{{At: at, By: up}}, began); got != want {
				t.Errorf("a change at %v, watched from %v on, beside a blinking one %v: blinks %v, want %v", at, began, beside, got, want)
			}
		}
	}
}

// A hand that took two windows of the meter alike is forgotten: with another one, minutes later, it would be a light that blinks. What stays for longer, or comes
// again and again, is kept.
func TestAHandInTheDarkIsForgotten(t *testing.T) {
	jump := func(at time.Duration, y float64) scene.Jump {
		return scene.Jump{At: at, By: colorcalc.XYZ{X: y, Y: y, Z: y}}
	}
	s, ms := time.Second, time.Millisecond
	hand := func(at time.Duration) []scene.Jump { return []scene.Jump{jump(at, -5), jump(at+400*ms, 5)} }
	for what, x := range map[string]struct {
		all  []scene.Jump
		kept int
	}{
		"a hand":                     {hand(10 * s), 0},
		"two":                        {append(hand(10*s), hand(17*s)...), 0},
		"three, far from another":    {append(append(hand(10*s), hand(22*s)...), hand(35*s)...), 0},
		"a door":                     {[]scene.Jump{jump(10*s, -5)}, 1},
		"a hand, then a door":        {append(hand(10*s), jump(12*s, -8)), 1},
		"a lamp, on for three":       {[]scene.Jump{jump(10*s, 5), jump(13*s, -5)}, 2},
		"two doors":                  {[]scene.Jump{jump(10*s, 5), jump(10*s+400*ms, 5)}, 2},
		"a light that blinks faster": {append(append(hand(10*s), hand(11*s)...), hand(12*s)...), 6},
	} {
		room := colorcalc.XYZ{X: 9, Y: 10, Z: 11}
		if got := (&dark{}).lasting(20*s, room, x.all); len(got) != x.kept {
			t.Errorf("%s: %d jumps are kept, want %d", what, len(got), x.kept)
		}
	}
}

// Of a jump that hardly moves a lamp, as of the faint light of a room at night, it is not said that fixtures are read again for it.
func TestAJumpThatIsNextToNothingIsSaidToBe(t *testing.T) {
	const tol = 0.0010
	for by, again := range map[float64]bool{0.00001: false, 0.0002: false, 0.0004: true, 0.02: true} {
		if got := strings.Contains(mayBeOff(sinceRead, by, tol), "are read again"); got != again {
			t.Errorf("a jump that moves a lamp by %.5f: %s", by, mayBeOff(sinceRead, by, tol))
		}
	}
}

// What is said of a jump has figures that tell something: none where no fixture was read, no 0.0000, and none beyond what colours differ by.
func TestWhatAJumpMovesIsSaidInFiguresThatTellSomething(t *testing.T) {
	for by, want := range map[float64]string{0: "no fixture was read there yet", 0.00002: "hardly off", 0.0002: "0.0002, which is counted in", 0.02: "0.0200, and fixtures", 0.56: "more than of a fixture"} {
		if got := mayBeOff(sinceRead, by, 0.0010); !strings.Contains(got, want) {
			t.Errorf("a jump that moves a lamp by %.5f: %s; want %q", by, got, want)
		}
	}
}

// A probe in the dark near what the meter sees at all scatters by some hundredths of a lux. Before a lamp was read there that is no reason to watch it
// for a minute with all lamps out; a light that comes or goes is.
func TestScatterNearTheDarkIsNoJumpBeforeALampWasRead(t *testing.T) {
	c := newBench(t, 1, nil).c
	at := colorcalc.XYZ{X: 0.32, Y: 0.33, Z: 0.36}
	d := &dark{Background: scene.NewBackground(at, 5, c.meter(""), 0)}
	for share, want := range map[float64]int{-0.06: 0, 0.09: 0, 0.5: 1, 40: 1} {
		if got := d.harmful(c, []scene.Jump{{At: time.Second, By: at.Scale(share)}}); len(got) != want {
			t.Errorf("a change by %.2f of the background: %d harmful, want %d", share, len(got), want)
		}
	}
}

// A light that goes out while a slow lamp glows on has gone out, however the glow falls from one reading to the next: it is one jump, to where the
// last readings are. A cloud that passes is none.
func TestALightThatGoesOutWhileALampGlowsIsAJump(t *testing.T) {
	c := newBench(t, 1, nil).c
	room, lit := colorcalc.UV{U: 0.22, V: 0.5}, colorcalc.UV{U: 0.25, V: 0.52}
	if glowsOn(room.XYZ(100), &Reading{Y: 88}, &Reading{Y: 87}) {
		t.Error("a cloud is taken for a light that has gone out")
	}
	for what, x := range map[string]struct {
		from  colorcalc.XYZ
		to    []float64 // lux
		jumps int
	}{
		"out, and a glow":   {lit.XYZ(16), []float64{1.30, 0.96, 0.78, 0.66, 0.57, 0.51, 0.47}, 1},
		"out, and no glow":  {lit.XYZ(16), []float64{0.21, 0.21, 0.21}, 1},
		"a glow, and still": {room.XYZ(0.2), []float64{1.3, 0.9, 0.6, 0.45, 0.32}, 0},
	} {
		d := &dark{Background: scene.NewBackground(x.from, 5, c.meter(""), 0), light: room.XYZ(120)}
		var got []Reading
		for k, y := range x.to {
			got = append(got, Reading{UV: room, Y: y, HasY: true, At: 10*time.Second + time.Duration(k)*300*time.Millisecond})
		}
		jumps, rest, open := d.scan(c, got)
		if len(jumps) != x.jumps {
			t.Errorf("%s: %d jumps, want %d", what, len(jumps), x.jumps)
			continue
		}
		if x.jumps == 0 {
			continue
		}
		if last := got[len(got)-1].Y; open || len(rest) < 2 || rest[len(rest)-1].Y != last || jumps[0].By.Y > -14 {
			t.Errorf("%s: by %.2f lux, open %v, the last of %d readings taken is %v", what, jumps[0].By.Y, open, len(rest), rest)
		}
	}
}
