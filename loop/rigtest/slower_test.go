package rigtest

import "testing"

// A lamp that is slower than the one that has shown how long its type takes is found by its own readings: before, one of a hundred was
// lost after forty readings that were all taken on its way, and one of two hundred was called dead or swapped for it.
func TestALampThatIsSlowerThanItsTypeIsWaitedFor(t *testing.T) {
	c := class(t, "some lamps slow, 1 s")
	s := Sum(c, c.Play(801, 14))
	t.Log("\n" + Table([]Score{s}))
	if s.False > 0.006 || s.Missed > 0.006 || s.Accused > 0 {
		t.Error("want no more than one lamp beyond and one not landed, and none accused")
	}
}
