package session

import (
	"context"
	"errors"
	"fmt"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/loop/feed"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/safety"
)

// Beside a desk a lamp is taken as the desk has it: what the slots show is where it
// stands, and a lamp that the desk has lit is read as found.
func TestALampIsTakenAsTheDeskHasIt(t *testing.T) {
	c := compiled(t, "  - {name: a, profile: $p/wiffelmoor-wash-8.yaml, address: 1/1}\n  - {name: b, profile: $p/wiffelmoor-wash-8.yaml, address: 1/11}\n")
	asked := 0
	look := func(u dmx.Universe, dst *[512]byte) int {
		asked++
		for i := range 5 {
			dst[i] = byte(200 + i) // lit; the other is dark
		}
		return 512
	}
	if err := c.TakeFound(look); err != nil {
		t.Fatal(err)
	}
	if asked != 1 {
		t.Errorf("one universe was asked for %d times", asked)
	}
	if c.Units[0].Found == nil || c.Units[1].Found != nil {
		t.Errorf("found %v and %v, want the lit one alone", c.Units[0].Found, c.Units[1].Found)
	}
	for i, u := range c.Units {
		slots := u.Slots(u.Rest)
		for _, s := range slots {
			want := uint8(0) // of the other lamp, and of the fifth slot, which is pinned
			if i == 0 && s.Slot <= 4 {
				want = uint8(199 + s.Slot)
			}
			if s.Value != want {
				t.Errorf("%s: slot %d stands at %d, the desk has %d", u.Info.Name, s.Slot, s.Value, want)
			}
		}
	}
}

// With people aloft two lit lamps at one probe are refused, by name and line; apart, or
// with nobody aloft, they are not.
func TestLampsThatShareAProbeAreRefusedWithPeopleAloft(t *testing.T) {
	r := &rig.Rig{Path: "rig.yaml", Fixtures: []rig.Fixture{
		{Name: "key", Probe: "mark", Heads: 1, Pos: rig.Pos{Line: 7, Col: 5}}, {Name: "fill", Probe: "mark", Heads: 1, Pos: rig.Pos{Line: 8, Col: 5}},
		{Name: "batten", Probe: "other", Heads: 4, Pos: rig.Pos{Line: 9, Col: 5}}, {Name: "torch", Probe: "mark", ByHand: true}}}
	if err := EachItsProbe(r); err != nil {
		t.Errorf("nobody is aloft: %v", err)
	}
	r.Safety.Limits.PeopleAloft = true
	err := EachItsProbe(r)
	if err == nil || !strings.Contains(err.Error(), `rig.yaml:8:5: fixture "fill" and fixture "key" (line 7)`) || !strings.Contains(err.Error(), `"batten" has 4 heads`) || strings.Contains(err.Error(), "torch") {
		t.Errorf("got %v", err)
	}
	r.Fixtures[1].Probe, r.Fixtures[2].Heads = "third", 1
	if err := EachItsProbe(r); err != nil {
		t.Errorf("each has its probe: %v", err)
	}
}

// An explicit priority is asked for as it is; without one an overlay asks for one above
// what it hears.
func TestThePriorityAskedForIsTheRigs(t *testing.T) {
	r := &rig.Rig{Output: rig.Output{Mode: rig.Overlay, Priority: 130}}
	if got := WantedPriority(r); got != 130 {
		t.Errorf("%d", got)
	}
	r.Output.AutoPriority = true
	if got := WantedPriority(r); got != sacn.OneAbove {
		t.Errorf("%d", got)
	}
}

// quarrel is meters that count how often they are read.
type quarrel struct {
	Meters
	n int
}

func (q *quarrel) take() (feed.Reading, error) {
	q.n++
	return feed.Reading{Seq: uint64(q.n)}, nil
}

// While another source owns the light, readings are void: they are thrown away, it is
// said once, and the next counts only after the light had time to be ours again.
func TestReadingsAreVoidWhileAnotherSourceOwnsTheLight(t *testing.T) {
	q := &quarrel{}
	rivals := 3
	var said []string
	var asked []time.Time
	m := &besideMeters{after: time.Hour,
		above: func() []sacn.SourceInfo {
			if rivals--; rivals < 0 {
				return nil
			}
			return []sacn.SourceInfo{{Name: "desk \x1b[2J", From: netip.MustParseAddr("127.0.0.9"), Top: 150, Universe: 3}}
		},
		say: func(note string) { said = append(said, note) }}
	r, err := m.unowned(t.Context(), "mark", time.Time{}, func(_ context.Context, _ string, settled time.Time) (feed.Reading, error) {
		asked = append(asked, settled)
		return q.take()
	})
	if err != nil || r.Seq != 4 {
		t.Errorf("reading %d, %v: want the fourth, when nobody else was there", r.Seq, err)
	}
	if len(said) != 1 || !strings.Contains(said[0], "priority 150 on universe 3") || strings.Contains(said[0], "\x1b") {
		t.Errorf("said %q", said)
	}
	for _, at := range asked[1:] {
		if time.Until(at) < 50*time.Minute {
			t.Errorf("asked for a reading from %v on, before the light was ours again", at)
		}
	}
	gone := errors.New("gone")
	if _, err := m.unowned(t.Context(), "", time.Time{}, func(context.Context, string, time.Time) (feed.Reading, error) { return feed.Reading{}, gone }); !errors.Is(err, gone) {
		t.Errorf("got %v", err)
	}
}

// A feed is found by the probes it names; what is wrong is said with the names there are.
func TestAProbeIsReadByTheFeedThatNamesIt(t *testing.T) {
	two := []rig.Feed{{Name: "a", Probes: map[string]string{"1": "left"}}, {Name: "b", Probes: map[string]string{"1": "right"}}}
	for probe, want := range map[string]int{"left": 0, "right": 1} {
		if i, err := FeedOf(two, probe); err != nil || i != want {
			t.Errorf("%s: feed %d, %v", probe, i, err)
		}
	}
	if i, err := FeedOf(two[:1], "anything"); err != nil || i != 0 {
		t.Errorf("the only feed: %d, %v", i, err)
	}
	if _, err := FeedOf(two, "middle"); err == nil || !strings.Contains(err.Error(), "left, right") {
		t.Errorf("got %v", err)
	}
	if _, err := FeedOf([]rig.Feed{{}, {}}, "left"); err == nil || !strings.Contains(err.Error(), "add probes:") {
		t.Errorf("got %v", err)
	}
	if got := FeedTrouble(feed.Status{Name: "a", Why: "no route"}); got != "feed a: no route" {
		t.Errorf("%q", got)
	}
	if _, err := FeedConfig(rig.Feed{Instrument: filepath.Join(t.TempDir(), "none.yaml")}, feed.Config{}); err == nil {
		t.Error("a description that is not there opens a feed")
	}
}

// Why no reading came is told of the time in which it was waited for, not of the whole run, and names heads that the meter calls otherwise than the rig.
func TestWhyNoReadingCameIsOfThatTime(t *testing.T) {
	now := feed.Status{Name: "a", State: feed.Live, Accepted: 9, SetAside: map[feed.Reason]uint64{feed.Repeated: 19, feed.ClockSkewed: 12}}
	before := feed.Status{Accepted: 4, SetAside: map[feed.Reason]uint64{feed.Repeated: 19, feed.ClockSkewed: 11}}
	since := now.Since(before)
	if got, want := FeedTrouble(since), "feed a is live, 1 reading set aside: "+string(feed.ClockSkewed); got != want || since.Accepted != 5 {
		t.Errorf("%q, %d accepted; want %q", got, since.Accepted, want)
	}
	if now.SetAside[feed.Repeated] != 19 {
		t.Errorf("the status itself has changed: %+v", now)
	}
	if got := strangers([]string{"left", "X0", ""}, []string{"left", "right"}); got != `, and brings readings of "X0", which no fixture of the rig names as its probe` {
		t.Errorf("%q", got)
	}
	if got := strangers([]string{"left"}, []string{"left", "right"}); got != "" {
		t.Errorf("%q", got)
	}
}

// A refused wish concerns one head; a door that is being closed concerns the run.
func TestAWishThatIsRefusedConcernsItsHead(t *testing.T) {
	if e := wishFailed(3, fmt.Errorf("head: %w", safety.ErrAloft)); e.Kind != core.Refused || e.Head != 3 || e.Why == "" {
		t.Errorf("%+v", e)
	}
	if e := wishFailed(3, fmt.Errorf("head: %w", safety.ErrReleased)); e.Kind != core.Fault {
		t.Errorf("%+v", e)
	}
}

// A journal whose file was deleted, or whose place another file has taken, keeps
// nothing more and says so at once; so does one that was closed.
func TestAJournalThatLostItsFileSaysSo(t *testing.T) {
	for name, spoil := range map[string]func(path string) error{
		"deleted or moved": os.Remove,
		"another file now": func(path string) error {
			return errors.Join(os.Rename(path, path+".old"), os.WriteFile(path, nil, 0o644))
		},
	} {
		path := filepath.Join(t.TempDir(), "journal.jsonl")
		j, err := CreateJournal(path, time.Now, nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := j.Append(Entry{Kind: core.KindEnd}); err != nil {
			t.Fatal(err)
		}
		if err := spoil(path); err != nil {
			t.Fatal(err)
		}
		for range 2 {
			if err := j.Append(Entry{Kind: core.KindEnd}); err == nil || !strings.Contains(err.Error(), name) {
				t.Errorf("got %v, want %q", err, name)
			}
		}
		j.Close()
	}
	if _, err := CreateJournal(filepath.Join(t.TempDir(), "no", "folder"), time.Now, nil); err == nil {
		t.Error("a journal without a folder")
	}
}

// Verify goes by the newest complete run: a newer one that was cut short knows less.
func TestTheNewestCompleteRunCounts(t *testing.T) {
	root := t.TempDir()
	write := func(dir, rigName string, work core.Work, entries ...Entry) {
		t.Helper()
		if err := os.MkdirAll(filepath.Join(root, dir), 0o755); err != nil {
			t.Fatal(err)
		}
		j, err := CreateJournal(filepath.Join(root, dir, "journal.jsonl"), time.Now, nil)
		if err != nil {
			t.Fatal(err)
		}
		run := Entry{Kind: core.KindRun, Run: &RunInfo{Rig: rigName, Work: string(work), Fixtures: []FixtureInfo{{Name: "key"}}}}
		if err := j.Append(append([]Entry{run}, entries...)...); err != nil {
			t.Fatal(err)
		}
		j.Close()
	}
	landed := Entry{Kind: core.KindOutcome, Fixture: "key", Outcome: &Outcome{Result: solve.Landed}}
	if _, err := NewestRun(root, "hall"); err == nil {
		t.Error("found a run where there is none")
	}
	write("2026-01-01-0900-hall", "hall", core.Match, landed)
	if got, err := NewestRun(root, "hall"); err != nil || filepath.Base(got) != "2026-01-01-0900-hall" {
		t.Errorf("the only one, cut short: %q %v", got, err)
	}
	write("2026-01-02-0900-hall", "hall", core.Match, landed, Entry{Kind: core.KindEnd})
	write("2026-01-03-0900-hall", "hall", core.Match, landed)
	write("2026-01-04-0900-hall", "hall", core.Survey, Entry{Kind: core.KindEnd})
	write("2026-01-05-0900-attic", "attic", core.Match, landed, Entry{Kind: core.KindEnd})
	if got, err := NewestRun(root, "hall"); err != nil || filepath.Base(got) != "2026-01-02-0900-hall" {
		t.Errorf("got %q %v, want the complete match", got, err)
	}
	if _, err := NewestRun(filepath.Join(root, "none"), "hall"); err == nil {
		t.Error("found a run in no folder")
	}
}

// A person who dials the lamps: what they set stands, what they were not asked about
// does not change, and a head that nobody dials is an error.
func TestAPersonIsAWire(t *testing.T) {
	u := &Unit{Unit: core.Unit{Info: FixtureInfo{Name: "fill"}, Head: 0, Spec: solve.Spec{Channels: make([]solve.Channel, 2)}},
		Settings: func(d solve.Drive) []Setting {
			if d == nil {
				return nil
			}
			return []Setting{{Name: "CCT", Value: float64(d[0])}, {Name: "tint", Value: float64(d[1])}}
		}}
	var told []HandStep
	w := NewHandWire([]*Unit{u}, func(_ context.Context, s HandStep) error { told = append(told, s); return nil })
	if w.Wish(0, []uint32{1}) == nil || w.Wish(5, []uint32{1, 2}) == nil {
		t.Error("a wish that nobody can dial is taken")
	}
	if _, err := w.WaitArrived(t.Context(), 0); err == nil {
		t.Error("arrived where nothing was wished")
	}
	for _, codes := range [][]uint32{{3, 4}, {3, 4}, {3, 5}} {
		if err := w.Wish(0, codes); err != nil {
			t.Fatal(err)
		}
		if _, err := w.WaitArrived(t.Context(), 0); err != nil {
			t.Fatal(err)
		}
		w.Alive()
		if got := w.Sent(0); got[0] != codes[0] || got[1] != codes[1] {
			t.Errorf("sent %v, want %v", got, codes)
		}
	}
	if len(told) != 2 || told[0].Was != nil || told[1].Was[1].Value != 4 || told[1].Set[1].Value != 5 {
		t.Errorf("told %+v: want the first setting and the one that changed", told)
	}
}
