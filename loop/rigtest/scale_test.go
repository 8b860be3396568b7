package rigtest

import "testing"

// A lamp whose colour temperature runs by another scale than its profile says is told so by a run of a whole rig, most often within
// eight readings, and a sound lamp beside it never is. Where the two scales hardly part over what a visit reads, nothing is said.
func TestAnotherScaleIsNamed(t *testing.T) {
	c := class(t, "kelvin stated for mired, or the other way")
	s := Sum(c, c.Play(703, 28))
	t.Log("\n" + Table([]Score{s}))
	if s.Named[0] < 0.85 || s.Named[1] < 0.85 {
		t.Errorf("named %.0f %%, within eight readings %.0f %%; want at least 85 of both", 100*s.Named[0], 100*s.Named[1])
	}
	if s.Accused > 0 {
		t.Errorf("%.1f %% of the sound lamps accused", 100*s.Accused)
	}
}
