package rigtest

import "testing"

// A meter that gives the mean of its last windows, and tells the length of one, is not believed before the light of a step stands in it: until
// the first large step of a type was read until two readings agreed, 5.8 % of these lamps were outside, and .7 % by half a tolerance and more. That was a meter that
// forgot what nobody asked for; one that does not has four of these 240 lamps beyond: lamps whose profile states a dead time, read after others of much the same light.
func TestAMeterWithAMemoryIsWaitedFor(t *testing.T) {
	c := class(t, "a meter that means three windows")
	s := Sum(c, c.Play(901, 20))
	t.Log("\n" + Table([]Score{s}))
	if s.False > 0.02 || s.Inside < 0.955 || s.Missed > 0.01 {
		t.Error("want no more than 2 % beyond, 95.5 % inside at the least, no more than 1 % not landed")
	}
}
