package rigtest

import (
	"testing"
	"time"
)

// A lamp that is read when the light beside it has just gone out seems to give no light, or less than none: the dark is read once
// more, and the lamp lands.
func TestALampIsNotHeldOnAStaleDark(t *testing.T) {
	for _, name := range []string{"ambient 0.5 goes out", "ambient 1.5 goes out"} {
		c := class(t, name)
		s := Sum(c, c.Play(611, 20))
		t.Log("\n" + Table([]Score{s}))
		if s.Failed > 0 || s.False > 0.01 || s.Missed > 0.01 || s.NamedAs["no light"] > 0 {
			t.Errorf("%s: not landed %.1f %% %v, beyond 1.5 times the tolerance %.1f %% (worst %.4f) %s",
				name, 100*s.Missed, s.NamedAs, 100*s.False, s.Worst, s.Why)
		}
	}
}

// A lamp that is matched while somebody lights a far brighter one beside it seems not to answer, or to have its slots exchanged. The
// dark is read before that is the last word, though the room was dark before: two of these lamps were held for it.
func TestALampIsNotBlamedForALightThatCameMeanwhile(t *testing.T) {
	c := *class(t, "somebody's bright lamp, once")
	c.Somebody = somebody{1, 5 * time.Second, 25 * time.Second, 8}
	s := Sum(&c, c.Play(611, 20))
	t.Log("\n" + Table([]Score{s}))
	if s.Failed > 0 || s.False > 0.005 || s.Missed > 0.005 || s.Accused > 0 {
		t.Errorf("not landed %.1f %% %v, accused %.1f %%, beyond 1.5 times the tolerance %.1f %% (worst %.4f) %s",
			100*s.Missed, s.NamedAs, 100*s.Accused, 100*s.False, s.Worst, s.Why)
	}
}
