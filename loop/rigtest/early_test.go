package rigtest

import (
	"testing"
	"time"

	"trueup/loop/stage"
)

// Readings after a fade or a small step begin before their light stands, by what is known of when it will. Lamps that answer
// otherwise are claimed as truly as others: by a fast meter, and where neighbours differ in light and colour.
func TestLampsThatAnswerOtherwiseThanKnown(t *testing.T) {
	fast := func(m *stage.MeterSpec, _ *draws) {
		m.Integration, m.Period, m.Latency = 150*time.Millisecond, 200*time.Millisecond, 30*time.Millisecond
	}
	known := func(delay func(d *draws) time.Duration, lag time.Duration) func(*lampPlan, *draws) {
		return func(l *lampPlan, d *draws) {
			l.known, l.kind.Delay, l.kind.Response = true, delay(d), lag
		}
	}
	fixed := func(ms int) func(*draws) time.Duration {
		return func(*draws) time.Duration { return time.Duration(ms) * time.Millisecond }
	}
	each := func(d *draws) time.Duration { return time.Duration(d.between(0, 150)) * time.Millisecond }
	for _, c := range []Class{
		{Name: "as late as stated", Lamp: known(fixed(150), 0)},
		{Name: "100 ms later than stated", Lamp: known(fixed(250), 0)},
		{Name: "at once", Lamp: known(fixed(0), 0)},
		{Name: "each in its own time", Lamp: known(each, 0)},
		{Name: "within 400 ms as stated", Lamp: func(l *lampPlan, d *draws) {
			l.known, l.stated, l.kind.Delay = true, 400*time.Millisecond, time.Duration(d.between(250, 380))*time.Millisecond
		}},
		{Name: "nothing stated, 150 ms", Lamp: func(l *lampPlan, _ *draws) { l.known, l.kind.Delay = false, 150*time.Millisecond }},
		{Name: "nothing stated, each in its own time", Lamp: func(l *lampPlan, d *draws) { l.known, l.kind.Delay = false, each(d) }},
		{Name: "as late as stated, and lag", Lamp: known(fixed(100), 60*time.Millisecond)},
		{Name: "each in its own time, and lag", Lamp: known(each, 60*time.Millisecond)},
	} {
		t.Run(c.Name, func(t *testing.T) {
			c.Alike, c.Meter = 6, fast
			s := Sum(&c, c.Play(950, 24))
			t.Log("\n" + Table([]Score{s}))
			if s.Failed > 0 || s.Missed > 0.01 || s.False > 0.005 || s.Inside < 0.96 || s.Coverage[2] < 0.9 { // of 288 lamps a share near 98 % is known to 0.8 points
				t.Errorf("not landed %.1f %%, beyond 1.5 times the tolerance %.1f %%, inside %.1f %%, within the claim's 95 %% circle %.0f %%; want at most 1 and 0.5, at least 96 and 90",
					100*s.Missed, 100*s.False, 100*s.Inside, 100*s.Coverage[2])
			}
		})
	}
}
