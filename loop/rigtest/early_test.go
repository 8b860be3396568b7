package rigtest

import (
	"testing"
	"time"

	"trueup/loop/stage"
)

// Lamps that answer the wire as late as their profile allows, all at once, are claimed as truly as others, though the first reading after
// a fade begins a little before their light stands: by a fast meter, and where neighbours differ in light and colour.
func TestLampsThatAnswerAsLateAsStated(t *testing.T) {
	late := Class{Name: "lamps that answer as late as stated", Alike: 6, Meter: func(m *stage.MeterSpec, _ *draws) {
		m.Integration, m.Period, m.Latency = 150*time.Millisecond, 200*time.Millisecond, 30*time.Millisecond
	}, Lamp: func(l *lampPlan, _ *draws) {
		l.known, l.kind.Delay = true, 150*time.Millisecond
	}}
	s := Sum(&late, late.Play(950, 24))
	t.Log("\n" + Table([]Score{s}))
	if s.Failed > 0 || s.Missed > 0.01 || s.False > 0.005 || s.Inside < 0.97 || s.Coverage[2] < 0.92 {
		t.Errorf("not landed %.1f %%, beyond 1.5 times the tolerance %.1f %%, inside %.1f %%, within the claim's 95 %% circle %.0f %%; want at most 1 and 0.5, at least 97 and 92",
			100*s.Missed, 100*s.False, 100*s.Inside, 100*s.Coverage[2])
	}
}
