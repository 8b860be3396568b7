package rehearse

import (
	"os"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/dmx"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/safety"
	"trueup/safety/check"
)

// A look that is kept for two hours while lamps warm up stays within the limits in every frame, by the checker that shares
// no code with the governor.
func TestALookIsKeptWithinTheLimitsForTwoHours(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") != "1" {
		t.Skip("two virtual hours; TRUEUP_LONG=1 plays them")
	}
	j := wall(t, 12, 4)
	p, err := j.Play()
	if err != nil || p.Err != nil {
		t.Fatal(err, p.Err)
	}
	learnt, err := core.Replay(p.Entries)
	if err != nil {
		t.Fatal(err)
	}
	if j.Previous, err = session.Summarise(p.Entries); err != nil {
		t.Fatal(err)
	}
	j.Work, j.Priors = core.Keep, map[string]*solve.Prior{}
	for _, f := range j.Previous.Fixtures {
		j.Priors[f.Name] = learnt.PriorOf(f.Name)
	}
	if j.Plan.Target.UV == (colorcalc.UV{}) || j.Rig.Output.Mode != rig.Own {
		t.Fatal("want a wall that is matched to a colour, in universes of our own")
	}
	second := check.New(safety.Config{Limits: j.Rig.Safety.Limits, Heads: j.Compiled.Heads, Start: j.Compiled.Start})
	frames, last := 0, time.Duration(0)
	j.watch = func(at time.Time, u dmx.Universe, levels []byte) {
		frames++
		last = at.Sub(epoch)
		second.Frame(at, u, levels, nil)
	}
	kept, err := j.Play() // no person ends it: it is played until the time for a run is over
	if err != nil {
		t.Fatal(err)
	}
	trims := 0
	for _, e := range kept.Entries {
		if e.Step != nil && e.Step.Action == "trim" {
			trims++
		}
	}
	t.Logf("%v, %d frames, %d readings, %d trims; %v", last, frames, kept.Readings, trims, kept.Err)
	if last < 2*time.Hour || trims == 0 {
		t.Errorf("kept for %v with %d trims", last, trims)
	}
	for i, v := range second.Violations() {
		if i < 5 {
			t.Errorf("%v", v)
		}
	}
}
