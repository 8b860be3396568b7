package session

import (
	"context"
	"slices"
	"time"

	"trueup/dmx/sacn"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// Before is what a live run takes before its first event: listening to the network, and the look
// at the start.
func (j *Job) Before() time.Duration {
	if out := j.Rig.Output; out.Mode == rig.Overlay || !out.Local() {
		return sacn.ListenTime + takeoverPause
	}
	return takeoverPause
}

// ReadBeforehand is the reference that a live run reads before its first event: a light that it does not drive, at a probe of its own, which nobody holds.
// Nil where there is none. What the readings are worth is the core's to judge.
func (j *Job) ReadBeforehand() *Unit {
	if j.Plan.Target.Reference == "" || j.Plan.HandMeter || j.Preview || j.Silent || !slices.Contains([]core.Work{core.Match, core.Survey, core.Verify}, j.Work) {
		return nil
	}
	i := slices.IndexFunc(j.Compiled.Units, func(u *Unit) bool { return u.Info.Name == j.Plan.Target.Reference })
	if i < 0 || j.Compiled.Units[i].Head >= 0 {
		return nil
	}
	u := j.Compiled.Units[i]
	if slices.ContainsFunc(j.Compiled.Units, func(o *Unit) bool { return o.Head >= 0 && o.Info.Probe == u.Info.Probe }) {
		return nil
	}
	return u
}

// readBeforehand reads the reference until what it is called beside has ended, and gives what was read with times that count from then. A meter that
// brings nothing meanwhile is no fault: the run asks it again.
func (r *Run) readBeforehand(ctx context.Context) (ended func() []core.Reading) {
	u := r.job.ReadBeforehand()
	if u == nil || r.meters == nil {
		return func() []core.Reading { return nil }
	}
	ctx, cancel := context.WithCancel(ctx)
	done := make(chan []timedReading)
	go func() {
		var all []timedReading
		after := time.Now()
		for {
			got, err := r.meters.ReadAfter(ctx, u.Info.Probe, after)
			if err != nil {
				done <- all
				return
			}
			after = got.Time
			all = append(all, timedReading{readingOf(got, u.Info.Probe), got.Time})
		}
	}()
	return func() (all []core.Reading) {
		cancel()
		for _, t := range <-done {
			t.At = t.ended.Sub(r.opened)
			all = append(all, t.Reading)
		}
		return all
	}
}

// timedReading is a reading whose clock has not begun yet.
type timedReading struct {
	core.Reading
	ended time.Time
}
