package core

import (
	"strings"
	"testing"

	"trueup/loop/solve"
)

// changedAgain is a bench at the second visit to a lamp that has landed, and whose light is another since: it has been read and moved there.
func changedAgain(t *testing.T) (*bench, *unit) {
	b := newBench(t, 2, nil)
	var u *unit
	b.read = func(a Ask, r *Reading) {
		if !a.Dark && u != nil && a.Probe == u.Info.Probe {
			r.UV.V += 0.004
		}
	}
	b.tell(Event{Kind: Begin})
	b.until("both are proven", func() bool { return outcomesOf(b.log, KindVerify) >= 2 })
	u = b.c.units[1]
	u.claim.spilt = 1 // which no look at the dark puts right
	b.until("a step of one more visit", func() bool { return u.tally.steps > u.outcome.Steps+1 && len(b.p.asks) > 0 })
	u.claim.spilt = 0
	if !u.outcome.Landed() {
		t.Fatalf("%+v", u.outcome)
	}
	return b, u
}

// A lamp that is read elsewhere on a second visit, and moved for it, stands no more where it had landed: when the run is stopped in the middle
// of that nothing is claimed of it. A run that is resumed then reads it to the end.
func TestAStopInASecondVisitTakesBackWhatItRefutes(t *testing.T) {
	b, u := changedAgain(t)
	b.tell(Event{Kind: Stop, Why: "a person"})
	if o := b.outcome(u.Info.Name); o.Result != solve.Unsettled || !strings.Contains(o.Reason, "while it was read again") || o.Readings != u.tally.readings {
		t.Errorf("%+v", o)
	}
	b.tell(Event{Kind: Resumed, When: b.c.Now()})
	b.until("the end", b.over)
	if o := b.outcome(u.Info.Name); b.d.Err != nil || !o.Landed() {
		t.Errorf("%v: %+v", b.d.Err, o)
	}
}

// What was claimed of a lamp and is to be read again is not claimed once the run is stopped; resumed, the run reads it again. A lamp
// whose claim holds stands as it was.
func TestAStopKeepsWhatHoldsAndTheRestIsReadAgain(t *testing.T) {
	b := newBench(t, 2, nil)
	b.tell(Event{Kind: Begin})
	b.until("both are proven", func() bool { return outcomesOf(b.log, KindVerify) >= 2 })
	b.c.units[1].claim.share = 1
	b.tell(Event{Kind: Stop, Why: "a person"})
	first, second := b.outcome("wash 0"), b.outcome("wash 1")
	if first.Result != solve.Unsettled || !strings.Contains(first.Reason, "stopped before it was read again") || first.Probability > 0.5 || !second.Landed() {
		t.Errorf("%+v\n%+v", first, second)
	}
	b.tell(Event{Kind: Resumed, When: b.c.Now()})
	b.until("the end", b.over)
	if o := b.outcome("wash 0"); b.d.Err != nil || !o.Landed() {
		t.Errorf("%v: %+v", b.d.Err, o)
	}
}

// outcomesOf counts the outcomes of a kind.
func outcomesOf(log []Entry, kind Kind) (n int) {
	for _, e := range log {
		if e.Kind == kind && e.Outcome != nil {
			n++
		}
	}
	return n
}

// A run that is stopped while it looks at a dark that is not as it was does not say landed of a lamp that the change would have moved.
func TestAStopWhileTheDarkIsWatchedTakesBackWhatItMayHaveMoved(t *testing.T) {
	b := newBench(t, 2, nil)
	b.tell(Event{Kind: Begin})
	b.until("both are proven", func() bool { return outcomesOf(b.log, KindVerify) >= 2 })
	b.p.ambient *= 20
	b.until("the dark is read", func() bool { d := b.c.lane.inDark(); return d != nil && len(d.got) >= 2 })
	if b.notes(KindDrift) != "" {
		t.Fatal(b.notes(KindDrift))
	}
	probe := b.c.lane.inDark().probes[0]
	b.tell(Event{Kind: Stop, Why: "a person"})
	for _, u := range b.c.units[1:] {
		if o := b.outcome(u.Info.Name); o.Landed() == (u.Info.Probe == probe) {
			t.Errorf("%s at probe %s, %s is read: %+v", u.Info.Name, u.Info.Probe, probe, o)
		}
	}
}
