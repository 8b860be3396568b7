package safety_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"trueup/dmx/sacn"
	"trueup/safety"
)

func one(h ...safety.Head) safety.Config {
	return safety.Config{Limits: safety.DefaultLimits(), Heads: h}
}

// full is how much longer than the limit alone asks for a fade from dark to full
// takes, so that lamps whose exponent is a tenth off obey it too: the integral over
// light of the steepest slope g y^(g-1) of any exponent g in 0.9..1.1, done by hand.
var full = 1 + math.Log(1.1/0.9)/math.E

func TestAFullFadeTakesTwoSecondsAndLittleMoreAtFiftyPercentASecond(t *testing.T) {
	b := newBench(t, one(plain(&layout{}, "lamp")))
	b.wish(0, 255)
	up := b.until(5*time.Second, b.arrived(0))
	b.run(2 * time.Second) // pace
	b.wish(0, 0)
	down := b.until(5*time.Second, b.arrived(0))
	for _, d := range []time.Duration{up, down} {
		if want := time.Duration(full * 2 * float64(time.Second)); d < want || d > want+3*tick {
			t.Errorf("full travel took %v, want %v: 100 %% at 50 %%/s, and what the exponent may be off", d, want)
		}
	}
	b.clean()
}

func TestHalfWayThroughAFadeTheLightIsHalfNotTheCode(t *testing.T) {
	y := &layout{}
	b := newBench(t, one(safety.Head{Name: "square law", Universe: 1, Cap: 1, Slots: []safety.SlotRule{y.dimmer(2, mustCurve(func(x float64) float64 { return x * x }))}}))
	b.wish(0, 65535)
	b.run(time.Duration(full * float64(time.Second)))
	// A square law dimmer gives half its light at 1/sqrt 2 of its code.
	got, want := float64(b.g.Sent(0)[0])/65535, math.Sqrt(0.5)
	if math.Abs(got-want) > 0.012 { // one frame of 1.1 % of light
		t.Errorf("after half the time the code is %.4f of full, want %.4f", got, want)
	}
	b.clean()
}

func TestTheWireEndsOnExactlyTheWishedCodes(t *testing.T) {
	y := &layout{}
	h := safety.Head{Name: "wide", Universe: 1, Cap: 1, Slots: []safety.SlotRule{
		y.emitter("a", 1, square, 1, 0.5, 0.52), y.emitter("b", 2, scurve, 1, 0.1, 0.56),
		y.emitter("c", 3, late, 1, 0.2, 0.47), y.emitter("d", 4, linear, 1, 0.2, 0.2), y.colour("tint", 2, false)}}
	b := newBench(t, one(h))
	for _, codes := range [][]uint32{{1, 1, 1, 1, 1}, {7, 32769, 5_000_001, 4_000_000_001, 65535}, {255, 65535, 1<<24 - 1, 1<<32 - 1, 0}, {3, 2, 1, 0, 77}} {
		b.wish(0, codes...)
		b.until(20*time.Second, b.arrived(0))
		f := b.frame[1]
		wire := []uint32{uint32(f[0]), uint32(f[1])<<8 | uint32(f[2]), uint32(f[3])<<16 | uint32(f[4])<<8 | uint32(f[5]),
			uint32(f[6])<<24 | uint32(f[7])<<16 | uint32(f[8])<<8 | uint32(f[9]), uint32(f[10])<<8 | uint32(f[11])}
		for i := range codes {
			if wire[i] != codes[i] {
				t.Errorf("%s: the wire carries %d, wished %d", h.Slots[i].Name, wire[i], codes[i])
			}
		}
	}
	b.clean()
}

func TestACapKeepsTheColourAndSaysSo(t *testing.T) {
	y := &layout{}
	h := safety.Head{Name: "three", Universe: 1, Cap: 0.25, Slots: []safety.SlotRule{
		y.emitter("red", 2, linear, 1, 0.5, 0.52), y.emitter("green", 2, linear, 2, 0.1, 0.56), y.emitter("blue", 2, linear, 1, 0.17, 0.15)}}
	b := newBench(t, one(h))
	b.wish(0, 60000, 30000, 15000)
	got, capped := b.g.Effective(0)
	if !capped {
		t.Error("the cap took light off and did not say so")
	}
	r, g, bl := float64(got[0]), float64(got[1]), float64(got[2])
	if math.Abs(r/g-2) > 1e-3 || math.Abs(g/bl-2) > 1e-3 {
		t.Errorf("the mixture was 4:2:1 and is now %v", got)
	}
	if light := (r + 2*g + bl) / 4 / 65535; light > 0.25 || light < 0.249 {
		t.Errorf("limited to %.5f of full light, the cap is 0.25", light)
	}
	b.until(5*time.Second, b.arrived(0))
	b.wish(0, 600, 300, 150)
	if _, capped := b.g.Effective(0); capped {
		t.Error("a wish far below the cap is called capped")
	}
	b.clean()
}

// Its own count is written out here once more, on purpose next to what it counts.
func TestTwentyLampsOutOfStepAreHeldToThreeFlashesASecond(t *testing.T) {
	y := &layout{}
	cfg := one()
	cfg.Limits.Rise, cfg.Limits.Fall = safety.MaxRate, safety.MaxRate
	for range 20 {
		cfg.Heads = append(cfg.Heads, plain(y, "lamp"))
	}
	b := newBench(t, cfg)
	ups := make([]bool, 20)
	for i := range ups {
		ups[i] = i%2 == 0 // neighbours go against each other
	}
	var swings []time.Duration
	up := false
	before := make([]byte, 20)
	peak := make([]float64, 20)
	dir := make([]int, 20)
	for n := range 44 * 20 {
		if n%5 == 0 { // each lamp every 2.3 s, some lamp every 0.11 s
			h := n / 5 % 20
			code := uint32(0)
			if ups[h] {
				code = 255
			}
			ups[h] = !ups[h]
			b.wish(h, code)
		}
		b.step(tick)
		// Counted here once more, by the plainest way: the alternation of the
		// directions in which lamps complete a tenth of full.
		for i := range before {
			v := float64(b.frame[1][i]) / 255
			d := 0
			if dir[i] >= 0 && v <= peak[i]-0.1 {
				d = -1
			} else if dir[i] <= 0 && v >= peak[i]+0.1 {
				d = 1
			}
			if d != 0 {
				dir[i], peak[i] = d, v
				if len(swings) == 0 || (d > 0) != up {
					swings = append(swings, b.now.Sub(epoch))
					up = d > 0
				}
			} else if float64(dir[i])*(v-peak[i]) > 0 {
				peak[i] = v
			}
		}
	}
	most := 0
	for i := range swings {
		k := i
		for k < len(swings) && swings[k]-swings[i] < time.Second {
			k++
		}
		most = max(most, k-i)
	}
	if most > 6 {
		t.Errorf("%d opposing swings within a second, six are three flashes", most)
	}
	if most < 5 || b.g.HeldBack() == 0 {
		t.Errorf("only %d swings a second, %d frames held back: the guard had nothing to do", most, b.g.HeldBack())
	}
	b.clean()
}

func TestLampsThatRiseTogetherAreNotHeldBack(t *testing.T) {
	y := &layout{}
	cfg := one()
	for range 100 {
		cfg.Heads = append(cfg.Heads, plain(y, "lamp"))
	}
	b := newBench(t, cfg)
	for i := range 100 {
		b.wish(i, 255)
	}
	d := b.until(5*time.Second, b.arrived(0, 37, 99))
	if d > 2200*time.Millisecond || b.g.HeldBack() != 0 {
		t.Errorf("a hundred lamps rising together took %v and were held %d times: one change for the eye", d, b.g.HeldBack())
	}
	b.clean()
}

func TestLargeStepsOfOneHeadArePaced(t *testing.T) {
	cfg := one(plain(&layout{}, "lamp"))
	cfg.Limits.Rise, cfg.Limits.Fall = 4, 4
	b := newBench(t, cfg)
	var starts []time.Time
	last := byte(0)
	moving := false
	for n := range 44 * 10 {
		if _, ok := b.g.Arrived(0); ok || n == 0 {
			b.wish(0, uint32(255*(1-int(last)/255)))
		}
		b.step(tick)
		v := b.frame[1][0]
		if v != last && !moving {
			starts = append(starts, b.now)
		}
		moving, last = v != last, v
	}
	if len(starts) < 5 {
		t.Fatalf("only %d steps in ten seconds", len(starts))
	}
	for i := 1; i < len(starts); i++ {
		if d := starts[i].Sub(starts[i-1]); d < time.Second {
			t.Errorf("probing step %d came %v after the last, want below one a second", i, d)
		}
	}
	b.clean()
}

func TestARedFlashAtConstantLevelIsCounted(t *testing.T) {
	y := &layout{}
	cfg := one()
	cfg.Limits.Rise, cfg.Limits.Fall = 4, 4
	for range 12 { // equal weights: red for cyan at one level
		cfg.Heads = append(cfg.Heads, safety.Head{Name: "pair", Universe: 1, Cap: 1, Slots: []safety.SlotRule{
			y.emitter("red", 2, linear, 1, 0.50, 0.525), y.emitter("cyan", 2, linear, 1, 0.12, 0.45)}})
	}
	b := newBench(t, cfg)
	for n := range 44 * 20 {
		if n%5 == 0 {
			h := n / 5 % 12
			if (n/60+h)%2 == 0 {
				b.wish(h, 65535, 0)
			} else {
				b.wish(h, 0, 65535)
			}
		}
		b.step(tick)
	}
	if b.g.HeldBack() == 0 {
		t.Error("twelve lamps swapping red for cyan were never held back")
	}
	b.clean()
}

func TestAHeadThatStoodTooLongAtItsCapComesDownAndRests(t *testing.T) {
	cfg := one(rgbw(&layout{}, "wash"))
	cfg.Limits.MaxFullTime = 5 * time.Second
	b := newBench(t, cfg)
	b.wish(0, 65535, 65535, 65535, 65535, 65535)
	b.until(6*time.Second, b.arrived(0))
	b.run(10 * time.Second)
	if why := b.g.Held(0); !strings.Contains(why, "rests") {
		t.Errorf("held: %q, want the reason", why)
	}
	if got := float64(b.g.Sent(0)[0]) / 65535; got*got > 0.751 {
		t.Errorf("dimmer at %.3f of its light, want three quarters", got*got)
	}
	b.wish(0, 65535, 65535, 65535, 65535, 65535)
	b.run(time.Second)
	if !b.g.Capped(0) {
		t.Error("a wish for full while resting is not called capped")
	}
	b.run(8 * time.Second)
	b.wish(0, 65535, 65535, 65535, 65535, 65535)
	b.until(5*time.Second, b.arrived(0))
	if b.g.Capped(0) || b.g.Sent(0)[0] != 65535 {
		t.Error("rested as long as it stood, and still not allowed up")
	}
	b.clean()
}

func TestWithPeopleAloftNobodyLosesTheirLight(t *testing.T) {
	d := newDesk()
	cfg := one(plain(&layout{}, "lamp"), plain(&layout{next: 1}, "dark"))
	cfg.Limits.PeopleAloft = true
	cfg.Desk = d
	d.set(1, 1, 200)
	b := newBench(t, cfg)
	b.wish(0, 190)
	b.until(5*time.Second, b.arrived(0))
	if err := b.g.Wish(0, []uint32{0}); !errors.Is(err, safety.ErrAloft) {
		t.Errorf("going dark over people's heads: %v", err)
	}
	b.wish(0, 101)
	d1 := b.until(10*time.Second, b.arrived(0))
	if want := 89 * time.Second / 51; d1 < want {
		t.Errorf("89 codes down took %v; at 20 %%/s they take %v", d1, want)
	}
	b.wish(1, 100)
	b.until(5*time.Second, b.arrived(1))
	b.wish(1, 0) // was dark before, may be dark again
	b.until(10*time.Second, b.arrived(1))
	b.clean()
}

func TestAnOverlayTouchesOnlyWishedHeadsAndGivesThemBack(t *testing.T) {
	d := newDesk()
	y := &layout{}
	cfg := one(rgbw(y, "a"), rgbw(y, "b"))
	cfg.Desk = d
	for s := range 512 {
		d.of(1)[s] = byte(s*7 + 3)
	}
	d.set(1, 11, 255) // a's shutter is open
	b := newBench(t, cfg)
	b.run(time.Second)
	if *b.frame[1] != *d.of(1) {
		t.Fatal("before the first wish the frame is not the desk's")
	}
	b.wish(0, 30000, 1, 2, 3, 4)
	b.until(10*time.Second, b.arrived(0))
	d.set(1, 15, 99)
	d.set(1, 400, 98)
	b.step(tick)
	if b.frame[1][14] != 99 || b.frame[1][399] != 98 {
		t.Error("the desk's change on other slots did not pass within one frame")
	}
	if b.frame[1][11] != d.of(1)[11] {
		t.Error("a never-touch slot was touched")
	}
	b.g.Release("test")
	b.until(20*time.Second, b.done)
	b.step(tick)
	b.c.End(b.now, nil)
	if *b.frame[1] != *d.of(1) {
		t.Error("the end is not what the desk shows")
	}
	b.clean()
}

func TestAShutterThatTheDeskHoldsClosedOpensOnlyInTheDark(t *testing.T) {
	d := newDesk()
	cfg := one(rgbw(&layout{}, "wash"))
	cfg.Desk = d
	for s := range 10 {
		d.of(1)[s] = 255 // dimmer and emitters full
	}
	d.set(1, 11, 20) // shutter off its safe value
	b := newBench(t, cfg)
	b.wish(0, 65535, 0, 0, 0, 65535)
	opened, dark := time.Time{}, false
	b.until(30*time.Second, func() bool {
		if b.frame[1][10] == 255 && opened.IsZero() {
			opened = b.now
			dark = b.frame[1][0] == 0 && b.frame[1][1] == 0
		}
		return b.arrived(0)()
	})
	if opened.IsZero() || !dark {
		t.Errorf("the shutter opened at %v, dark: %v", opened, dark)
	}
	b.g.Release("test")
	b.until(30*time.Second, b.done)
	b.step(tick)
	b.c.End(b.now, nil)
	b.clean()
}

func TestADeskThatNobodyHeardIsNotOverlaid(t *testing.T) {
	d := newDesk()
	d.become(sacn.BaseNone)
	cfg := one(plain(&layout{}, "lamp"))
	cfg.Desk = d
	b := newBench(t, cfg)
	b.wish(0, 255)
	b.run(3 * time.Second)
	if b.slots[1] != 0 {
		t.Errorf("%d slots sent over a desk that nobody heard", b.slots[1])
	}
	d.set(1, 1, 100)
	d.become(sacn.BaseLive)
	b.until(5*time.Second, b.arrived(0))
	b.clean()
}

func TestWithoutReleaseNothingEndsAndAfterItNoWishCounts(t *testing.T) {
	b := newBench(t, one(plain(&layout{}, "lamp")))
	b.wish(0, 128)
	b.until(3*time.Second, b.arrived(0))
	b.g.Release("first")
	b.g.Release("second")
	if _, why := b.g.Stage(); why != "first" {
		t.Errorf("reason %q, the first one stays", why)
	}
	if err := b.g.Wish(0, []uint32{255}); !errors.Is(err, safety.ErrReleased) {
		t.Errorf("a wish after the release: %v", err)
	}
	b.until(5*time.Second, b.done)
	b.c.End(b.now, nil)
	b.clean()
}

func TestWrongWishesAreRefusedAndChangeNothing(t *testing.T) {
	b := newBench(t, one(plain(&layout{}, "lamp")))
	for name, err := range map[string]error{
		"no such head": b.g.Wish(1, []uint32{0}), "negative": b.g.Wish(-1, []uint32{0}),
		"too few": b.g.Wish(0, nil), "too many": b.g.Wish(0, []uint32{1, 2}), "too high": b.g.Wish(0, []uint32{256}),
	} {
		if err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	b.run(time.Second)
	if b.frame[1][0] != 0 {
		t.Error("a refused wish moved the light")
	}
}

func TestStrobeIsPinnedOpenUnlessAllowedAndThenCapped(t *testing.T) {
	y := &layout{}
	lamp := func() safety.Head {
		return safety.Head{Name: "lamp", Universe: 1, Cap: 1, Slots: []safety.SlotRule{y.dimmer(1, linear),
			{Name: "strobe", Kind: safety.StrobeSlot, Slots: y.slots(1), Max: 255, Safe: 255, Range: safety.StrobeRange{LoCode: 1, HiCode: 201, LoHz: 0.5, HiHz: 20.5}}}}
	}
	b := newBench(t, one(lamp()))
	if err := b.g.Wish(0, []uint32{255, 1}); err == nil {
		t.Error("a strobe wish was taken though nobody allowed strobing")
	}
	b.run(time.Second)
	if b.frame[1][1] != 255 {
		t.Errorf("the shutter stands at %d, open is 255", b.frame[1][1])
	}
	y = &layout{}
	cfg := one(lamp(), lamp())
	cfg.Limits.Strobe = safety.Strobe{Allowed: true, Max: 3}
	b = newBench(t, cfg)
	if err := b.g.Wish(0, []uint32{255, 101}); err == nil {
		t.Error("10.5 Hz was taken") // half way between 0.5 and 20.5
	}
	b.wish(0, 255, 16) // 2 Hz
	b.until(10*time.Second, b.arrived(0))
	if b.frame[1][1] != 16 {
		t.Errorf("strobe slot at %d", b.frame[1][1])
	}
	if err := b.g.Wish(1, []uint32{255, 16}); err == nil {
		t.Error("two lamps at 2 Hz are 4 Hz for the eye")
	}
	b.g.Release("end")
	b.step(tick)
	b.step(tick)
	if b.frame[1][1] != 255 {
		t.Error("the release did not open the shutter at once")
	}
	b.until(10*time.Second, b.done)
	b.clean()
}
