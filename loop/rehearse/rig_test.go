package rehearse

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
)

// wall writes a rig of equal panels and gives the job of matching it. Each probe has its own part of them.
func wall(t testing.TB, panels, probes int) Job {
	t.Helper()
	var b strings.Builder
	b.WriteString("rig: wall\noutput: {mode: own, unicast: [\"127.0.0.1:5568\"]}\nfeeds: [{name: meter, kind: tcp, address: \"127.0.0.1:7311\"}]\n" +
		"safety: {level_cap: 80 %}\ntarget: {color: 5600K, level: 50 %}\nfixtures:\n")
	profile, err := filepath.Abs("../../examples/profiles/orchardlight-panel-kelvin.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for i := range panels {
		fmt.Fprintf(&b, "  - {name: panel %d, profile: %q, address: %d/%d, probe: mark %d}\n", i+1, profile, i/80+1, i%80*6+1, i*probes/panels+1)
	}
	path := filepath.Join(t.TempDir(), "rig.yaml")
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return jobOf(t, path)
}

func jobOf(t testing.TB, path string) Job {
	t.Helper()
	r, err := rig.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	j := Job{Meters: map[string]session.Pace{"meter": stageMeter}}
	j.Rig, j.Work, j.Seed = r, core.Match, 1
	if j.Plan, err = session.PlanFor(r); err != nil {
		t.Fatal(err)
	}
	if j.Compiled, err = session.Compile(r); err != nil {
		t.Fatal(err)
	}
	return j
}

// stageMeter is the pace of the simulated stage's meter.
var stageMeter = session.Pace{Integration: 150 * time.Millisecond, Period: 200 * time.Millisecond, Latency: 30 * time.Millisecond}

// A run in virtual time is a whole run: all lamps land, what it waited for adds up to what it took, and the same seed gives the same run.
func TestARunInVirtualTimeIsAWholeRun(t *testing.T) {
	for i, j := range []Job{wall(t, 12, 1), jobOf(t, "../../examples/demo/rig.yaml")} {
		p, err := j.Play()
		if err != nil || p.Err != nil {
			t.Fatal(err, p.Err)
		}
		var spending session.Spending
		landed := 0
		for k := range p.Entries {
			spending.Take(&p.Entries[k])
			if o := p.Entries[k].Outcome; o.Landed() && p.Entries[k].Kind == core.KindVerify {
				landed++
			}
		}
		s := spending.Spent()
		t.Logf("%s: %d units, landed %d, took %v, back %v, %d readings; %+v", j.Rig.Name, len(j.Compiled.Units), landed, p.Took, p.HandBack, p.Readings, s)
		if off := s.Total() - p.Took; off > time.Millisecond || off < -time.Millisecond {
			t.Errorf("%s: took %v, and %v is accounted for: %+v", j.Rig.Name, p.Took, s.Total(), s)
		}
		// In one darkness two meters gather light at the same time, which counts once.
		gathered := time.Duration(s.Readings) * stageMeter.Integration
		glimpses := 0 // of which nothing was waited for
		for i := range p.Entries {
			if p.Entries[i].Glimpse() {
				glimpses++
			}
		}
		if s.Readings+glimpses != p.Readings || s.Fade <= 0 || s.Settle <= 0 || s.Integration > gathered || i == 0 && s.Integration != gathered {
			t.Errorf("%s: %+v of %d readings", j.Rig.Name, s, p.Readings)
		}
		if landed < len(j.Compiled.Heads)*3/4 {
			t.Errorf("%s: %d of %d landed", j.Rig.Name, landed, len(j.Compiled.Heads))
		}
		sum, err := session.Summarise(p.Entries)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %.2f times its floor of %v", j.Rig.Name, p.Took.Seconds()/sum.Floor.Seconds(), sum.Floor)
		if sum.Floor <= 0 || sum.Floor > p.Took {
			t.Errorf("%s: a run of %v has a floor of %v", j.Rig.Name, p.Took, sum.Floor)
		}
		again, err := j.Play()
		if err != nil || again.Took != p.Took || len(again.Entries) != len(p.Entries) {
			t.Errorf("%s: another run of the same seed took %v, this one %v (%v)", j.Rig.Name, again.Took, p.Took, err)
		}
	}
}

// A rehearsal knows what earlier runs learnt of a type: fewer fixtures of it are read as found. It is not changed by it.
func TestARehearsalKnowsWhatWasLearnt(t *testing.T) {
	j := wall(t, 4, 1)
	fresh, err := j.Play()
	if err != nil {
		t.Fatal(err)
	}
	known, err := solve.NewBatch(j.Compiled.Units[0].Spec)
	if err != nil {
		t.Fatal(err)
	}
	before, _ := json.Marshal(known)
	j.Learnt = map[string]*solve.Batch{j.Compiled.Units[0].Type: known}
	learnt, err := j.Play()
	if err != nil || learnt.Err != nil {
		t.Fatal(err, learnt.Err)
	}
	if after, _ := json.Marshal(known); string(after) != string(before) {
		t.Error("a rehearsal changed what was learnt")
	}
	found := func(p *Played) (n int) {
		for i := range p.Entries {
			if p.Entries[i].Kind == core.KindFound {
				n++
			}
		}
		return n
	}
	if a, b := found(fresh), found(learnt); a == 0 || b >= a {
		t.Errorf("%d fixtures are read as found, %d with what was learnt", a, b)
	}
}

// A journal tells the pace of the meter that it was read by.
func TestTheJournalTellsTheMetersPace(t *testing.T) {
	j := wall(t, 3, 1)
	p, err := j.Play()
	if err != nil || p.Err != nil {
		t.Fatal(err, p.Err)
	}
	var pacing session.Pacing
	for i := range p.Entries {
		pacing.Take(&p.Entries[i])
	}
	got, ok := pacing.Of("mark 1")
	if !ok || got.Integration != stageMeter.Integration || got.Period != stageMeter.Period || got.Latency != stageMeter.Latency {
		t.Errorf("learnt %+v (%v), it was %+v", got, ok, stageMeter)
	}
	if _, ok := pacing.Of("elsewhere"); ok {
		t.Error("a pace where nothing was read")
	}
}
