package page

import (
	"fmt"
	"slices"
	"testing"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// What is kept for pages that were away is bounded in bytes, and one that has missed more than that gets the whole state,
// which is less to send.
func TestWhatWasMissedIsKeptWithinBounds(t *testing.T) {
	b := NewBoard("a rig", "e", nil)
	info := &session.RunInfo{Rig: "a rig", Work: "match", Tolerance: 0.001}
	for i := range 400 {
		info.Fixtures = append(info.Fixtures, session.FixtureInfo{Name: fmt.Sprint("panel ", i+1)})
	}
	b.Entry(session.Entry{Kind: core.KindRun, Run: info})
	b.flush()
	sent := 0
	for k := range kept {
		for _, f := range info.Fixtures {
			b.Entry(session.Entry{Kind: core.KindReading, Fixture: f.Name, Reading: &session.Measured{UV: colorcalc.UV{U: 0.21, V: 0.49}, Delta: 1e-4 * float64(k+1), Lux: 400}})
		}
		b.flush()
		held := 0
		for _, m := range b.ring {
			held += len(m.data)
		}
		if held > keptBytes || held != b.bytes {
			t.Fatalf("after %d updates messages of %d bytes are kept (counted: %d), want at most %d", k+1, held, b.bytes, keptBytes)
		}
		sent += len(b.ring[len(b.ring)-1].data)
	}
	all, last, _, err := b.since(1, true)
	if err != nil || len(all) != 1 || !all[0].whole || last != kept+1 {
		t.Fatalf("%d messages up to the number %d, error %v: want the whole state, up to %d", len(all), last, err, kept+1)
	}
	if n := len(all[0].data); n > sent {
		t.Errorf("the whole state is %d bytes, all that was missed %d", n, sent)
	}
	if next, _, _, _ := b.since(last-1, true); len(next) != 1 || next[0].whole {
		t.Errorf("who has missed one message gets %d", len(next))
	}
}

// A white that is on the locus to four digits is not said to be a little magenta.
func TestAWhiteOnTheLocusHasNoSign(t *testing.T) {
	xy, err := colorcalc.White(5600, -0.00001)
	if err != nil {
		t.Fatal(err)
	}
	if got := whiteWords(xy.UV()); got != "5600 K, Duv +0.0000" {
		t.Errorf("it is said as %q", got)
	}
}

// A run that somebody at a page stops has one line of that in the log.
func TestAStopIsSaidOnce(t *testing.T) {
	b := NewBoard("a rig", "e", func(e session.Entry) string { return e.Note })
	c := NewControl(t.Context(), b, nil)
	var why error
	c.running, c.stop = true, func(err error) { why = err }
	if err := c.Stop("page 1"); err != nil {
		t.Fatal(err)
	}
	b.Entry(session.Entry{Kind: core.KindStop, Note: why.Error()})
	if log := b.Now().Log; len(log) != 1 || log[0].Text != "page 1 stops the run" || !log[0].Loud {
		t.Errorf("the log says %+v", log)
	}
}

// A fixture that was not read as found has a figure that says so, and loses it where it does not land in the end.
func TestComputedAsFoundSaysSo(t *testing.T) {
	b := NewBoard("a rig", "e", nil)
	b.Entry(session.Entry{Kind: core.KindRun, Run: &session.RunInfo{Rig: "a rig", Work: "match", Fixtures: []session.FixtureInfo{{Name: "wash"}}}})
	b.Entry(session.Entry{Kind: core.KindOutcome, Fixture: "wash", Outcome: &core.Outcome{Result: solve.Landed, Before: &core.Step{Action: "as found, not set"}, Found: &core.Stand{Delta: 0.008, Computed: true}}})
	if r := b.Now().Rows[0]; r.Found == nil || *r.Found != 0.008 || !r.FoundComputed {
		t.Errorf("as found: %v, computed: %v", r.Found, r.FoundComputed)
	}
	b.Entry(session.Entry{Kind: core.KindVerify, Fixture: "wash", Outcome: &core.Outcome{Result: solve.Unsettled}})
	if r := b.Now().Rows[0]; r.Found != nil || r.FoundComputed || !r.Unread {
		t.Errorf("unsettled, as found: %v, computed: %v, not read: %v", r.Found, r.FoundComputed, r.Unread)
	}
}

// Skip is offered where a fixture is worked at, and not while the reference is read or between two fixtures, nor where a look is kept: all
// of its fixtures are lit.
func TestSkipIsOfferedWhereThereIsSomethingToSkip(t *testing.T) {
	b := NewBoard("a rig", "e", nil)
	info := &session.RunInfo{Rig: "a rig", Work: "match", Tolerance: 0.001, Core: &core.Config{Work: core.Match}, Fixtures: []session.FixtureInfo{{Name: "sun", Fixed: true}, {Name: "key"}}}
	info.Core.Plan.Target.Reference = "sun"
	b.Top(func(t *Top) { t.Phase = Working })
	b.Entry(session.Entry{Kind: core.KindRun, Run: info})
	for _, step := range []struct {
		what session.Entry
		at   []int
		may  bool
	}{
		{session.Entry{Kind: core.KindReading, Fixture: "sun", Reading: &session.Measured{UV: colorcalc.UV{U: 0.21, V: 0.49}}}, []int{0}, false},
		{session.Entry{Kind: core.KindSent, Fixture: "key"}, []int{1}, true},
		{session.Entry{Kind: core.KindOutcome, Fixture: "key", Outcome: &session.Outcome{Result: solve.Landed}}, []int{}, false},
	} {
		b.Entry(step.what)
		if top := b.Now().Top; !slices.Equal(top.At, step.at) || top.MaySkip != step.may {
			t.Errorf("after %s of %s: at %v, may skip %v; want %v, %v", step.what.Kind, step.what.Fixture, top.At, top.MaySkip, step.at, step.may)
		}
	}
	info.Core.Work = core.Keep
	b.Entry(session.Entry{Kind: core.KindRun, Run: info})
	b.Entry(session.Entry{Kind: core.KindSent, Fixture: "key"})
	if top := b.Now().Top; !slices.Equal(top.At, []int{1}) || top.MaySkip {
		t.Errorf("while a look is kept: at %v, may skip %v", top.At, top.MaySkip)
	}
}
