package rehearse

import (
	"testing"
	"time"

	"trueup/dmx"
	"trueup/loop/session/core"
	"trueup/safety"
	"trueup/safety/check"
)

// Eight lanes take a fifth of the time through the real governor; its limits hold by the second opinion,
// and no second holds more than the three flashes that any run may make.
func TestLanesSaveTimeWithinTheLimits(t *testing.T) {
	took := map[int]time.Duration{}
	for _, lanes := range []int{1, 8} {
		j := wall(t, 60, 8)
		j.Plan.Lanes = lanes
		second := check.New(safety.Config{Limits: j.Rig.Safety.Limits, Heads: j.Compiled.Heads, Start: j.Compiled.Start})
		j.watch = func(at time.Time, u dmx.Universe, levels []byte) { second.Frame(at, u, levels, nil) }
		p, err := j.Play()
		if err != nil || p.Err != nil {
			t.Fatal(err, p.Err)
		}
		landed := 0
		for i := range p.Entries {
			if o := p.Entries[i].Outcome; o.Landed() && p.Entries[i].Kind == core.KindVerify {
				landed++
			}
		}
		if landed < 58 {
			t.Errorf("%d lanes: %d of 60 landed", lanes, landed)
		}
		if v := second.Violations(); len(v) > 0 {
			t.Errorf("%d lanes: %d violations, the first: %v", lanes, len(v), v[0])
		}
		t.Logf("%d lanes: %v, %d readings, at most %d opposing swings in a second", lanes, p.Took, p.Readings, second.Opposing())
		took[lanes] = p.Took
	}
	if took[1] < 4*took[8] {
		t.Errorf("one lane takes %v, eight take %v", took[1], took[8])
	}
}
