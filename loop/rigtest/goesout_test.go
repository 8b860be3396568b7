package rigtest

import "testing"

// A lamp that is read when the light beside it has just gone out seems to give no light, or less than none: the dark is read once more, and the lamp lands.
func TestALampIsNotHeldOnAStaleDark(t *testing.T) {
	for _, name := range []string{"ambient 0.5 goes out", "ambient 1.5 goes out"} {
		c := class(t, name)
		s := Sum(c, c.Play(611, 20))
		t.Log("\n" + Table([]Score{s}))
		if s.Failed > 0 || s.False > 0.01 || s.Missed > 0.01 || s.NamedAs["no light"] > 0 {
			t.Errorf("%s: not landed %.1f %% %v, beyond 1.5 times the tolerance %.1f %% (worst %.4f) %s", name, 100*s.Missed, s.NamedAs, 100*s.False, s.Worst, s.Why)
		}
	}
}
