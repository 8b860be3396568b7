package rigtest

import (
	"testing"
	"time"
)

// Somebody who walks by in a room half as bright as the lamps takes a part of its light for seconds, again and again: that is no light that blinks.
func TestPeopleInALitRoom(t *testing.T) {
	c := Class{Name: "people in a lit room", Background: 0.5, Passer: 40 * time.Second}
	s := Sum(&c, c.Play(7, 8))
	t.Logf("landed %.3f, inside %.3f, beyond %.3f, %.1f s a lamp", s.Landed, s.Inside, s.False, s.Seconds)
	if s.Missed > 0.03 || s.False > 0.01 || s.Inside < 0.96 {
		t.Errorf("%.1f %% not landed, %.1f %% beyond, %.1f %% inside; want at most 3 and 1, and at least 96", 100*s.Missed, 100*s.False, 100*s.Inside)
	}
}
