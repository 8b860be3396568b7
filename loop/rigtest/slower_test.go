package rigtest

import "testing"

// A lamp that is slower than the one that has shown how long its type takes is found by its own readings: before, one of a hundred was
// lost after forty readings that were all taken on its way, and one of two hundred was called dead or swapped for it; of five hundred one still is.
func TestALampThatIsSlowerThanItsTypeIsWaitedFor(t *testing.T) {
	c := class(t, "some lamps slow, 1 s")
	s := Sum(c, c.Play(801, 14))
	t.Log("\n" + Table([]Score{s}))
	if s.False > 0.006 || s.Missed > 0.012 || s.Accused > 0.006 {
		t.Errorf("beyond 1.5 times the tolerance %.2f %% (worst %.4f), not landed %.2f %%, accused %.2f %% %v; want at most 0.6, 1.2 and 0.6 %s",
			100*s.False, s.Worst, 100*s.Missed, 100*s.Accused, s.NamedAs, s.Why)
	}
}
