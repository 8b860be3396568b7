package sacn

import (
	"testing"
	"time"

	"trueup/dmx"
)

// How late frames leave is counted as a histogram is read: each bound counts all that were no later.
func TestLatenessIsCounted(t *testing.T) {
	var l Lateness
	for _, d := range []time.Duration{0, time.Millisecond, 3 * time.Millisecond, 30 * time.Millisecond, 2 * time.Second} {
		l.add(d)
	}
	want := Lateness{Frames: 5, Within: [len(LateBounds)]uint64{2, 2, 3, 3, 3, 4, 4, 4}, Sum: 2034 * time.Millisecond, Worst: 2 * time.Second}
	if l != want {
		t.Errorf("%+v, want %+v", l, want)
	}
}

// slow makes every frame in 3 ms, each other than the one before.
type slow struct{ n byte }

func (f *slow) Levels(_ time.Time, _ dmx.Universe, dst *[dmx.SlotsPerUniverse]byte) int {
	time.Sleep(3 * time.Millisecond)
	f.n++
	dst[0] = f.n
	return 1
}

// A frame that takes long to make has left late by as much, and no frame is called late that is not.
func TestALateFrameIsSeen(t *testing.T) {
	var look show
	look.set(1, 1)
	play(t, universes(1), &look, func(s *Sender, _ *recorder) {
		time.Sleep(time.Second)
		if l := s.Lateness(); l.Frames == 0 || l.Worst != 0 {
			t.Errorf("of frames on time: %+v", l)
		}
	})
	play(t, universes(1), &slow{}, func(s *Sender, _ *recorder) {
		time.Sleep(time.Second)
		if l := s.Lateness(); l.Frames < 20 || l.Worst != 3*time.Millisecond || l.Sum != time.Duration(l.Frames)*l.Worst {
			t.Errorf("of frames that take 3 ms each: %+v", l)
		}
	})
}
