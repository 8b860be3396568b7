package scene

import (
	"math"
	"testing"
	"time"

	"trueup/colorcalc"
)

// swept is a light that goes up from next to nothing and back, and round through its hues.
func swept(t time.Duration) colorcalc.XYZ {
	turn := 2 * math.Pi * t.Seconds()
	uv := colorcalc.UV{U: 0.21 + 0.08*math.Cos(turn/17), V: 0.45 + 0.07*math.Sin(turn/17)}
	return uv.XYZ(0.3 + 3*(1-math.Cos(turn/12))/2)
}

// dark is one that begins at a moment, taken in by a background; sweeps as it was seen to.
func dark(b *Background, light func(time.Duration) colorcalc.XYZ, from, long time.Duration, sweeps bool) {
	var z []colorcalc.XYZ
	var at []time.Duration
	for t := from; t <= from+long; t += 300 * time.Millisecond {
		z, at = append(z, light(t)), append(at, t)
	}
	b.Followed(z, at, sweeps)
	b.Passage(z, Noise{UV: 0.0003, LnY: 0.004}, at)
}

// At its trough a light that sweeps is doubted by as far as it goes, not by the little that it is there; in level and hue it is then where the
// doubt has it. It grows no further than that, and once the light has stood for some minutes it is as small as where none ever moved.
func TestWhatSweptIsDoubtedAtItsTrough(t *testing.T) {
	lamp := colorcalc.UV{U: 0.2, V: 0.47}.XYZ(60)
	begin := func() *Background {
		return NewBackground(swept(0), 1, Noise{UV: 0.0003, LnY: 0.004}, 0)
	}
	b := begin()
	dark(b, swept, time.Second, 5*time.Second, true)
	dark(b, swept, 17*time.Second, 2*time.Second, true)
	trough := 24 * time.Second
	dark(b, swept, trough-time.Second, time.Second, false)
	if !b.Sweeps() {
		t.Fatal("it was seen to sweep, and is not said to")
	}
	for dt := 2 * time.Second; dt < 20*time.Second; dt += time.Second {
		off := lamp.Add(swept(trough + dt)).Sub(swept(trough)).UV().Dist(lamp.UV())
		if sd := b.Share(lamp, trough+dt); off > 3*sd || sd > 0.006 {
			t.Errorf("%v after the trough it is %.4f off, and doubted by %.4f", dt, off, sd)
		}
	}

	stood := func(time.Duration) colorcalc.XYZ { return swept(trough) }
	still := begin()
	for at := 26 * time.Second; at < 5*time.Minute; at += 12 * time.Second {
		dark(b, stood, at, time.Second, false)
		dark(still, stood, at, time.Second, false)
	}
	after, never := b.Share(lamp, 5*time.Minute+5*time.Second), still.Share(lamp, 5*time.Minute+5*time.Second)
	if b.Sweeps() || after > 2*never+1e-5 {
		t.Errorf("minutes after it came to stand it is doubted by %.5f, one that always stood by %.5f; sweeps %v", after, never, b.Sweeps())
	}
}

// A jump takes what swept along: it is doubted as before, around where it is now, and by nothing of the way of the jump.
func TestWhatSweptIsDoubtedAsBeforeAfterAJump(t *testing.T) {
	lamp, by := colorcalc.UV{U: 0.2, V: 0.47}.XYZ(60), colorcalc.UV{U: 0.25, V: 0.52}.XYZ(40)
	n := Noise{UV: 0.0003, LnY: 0.004}
	b := NewBackground(swept(0), 1, n, 0)
	dark(b, swept, time.Second, 5*time.Second, true)
	before := b.Share(lamp, 10*time.Second)
	b.Jumped(by)
	b.Leap(swept(6*time.Second).Add(by), 3, n, 6*time.Second)
	dark(b, func(at time.Duration) colorcalc.XYZ { return swept(at).Add(by) }, 6*time.Second, time.Second, false)
	if after := b.Share(lamp, 11*time.Second); after > 1.5*before || after < before/3 {
		t.Errorf("it is doubted by %.5f after the jump, %.5f before", after, before)
	}
}
