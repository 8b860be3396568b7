package session

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// Before a run only a reference is read that the run does not drive, at a probe of its own that runs by itself.
func TestWhatIsReadBeforeARun(t *testing.T) {
	profiles, err := filepath.Abs("../../examples/profiles")
	if err != nil {
		t.Fatal(err)
	}
	const meter = "feeds: [{name: m, kind: tcp, address: \"127.0.0.1:7311\"}]\n"
	fixed := "  - {name: window, profile: " + filepath.ToSlash(profiles) + "/museum-discharge-lamp.yaml, fixed: true, probe: PROBE}\n"
	lamp := "  - {name: key, profile: " + filepath.ToSlash(profiles) + "/wiffelmoor-wash-8.yaml, address: 1/1, probe: mark}\n"
	for _, k := range []struct {
		name, feeds, reference, probe string
		work                          core.Work
		want                          string
	}{
		{"a window", meter, "reference: window", "side", core.Match, "window"},
		{"to verify against", meter, "reference: window", "side", core.Verify, "window"},
		{"at the lamps' probe", meter, "reference: window", "mark", core.Match, ""},
		{"a lamp of the run", meter, "reference: key", "side", core.Match, ""},
		{"a named colour", meter, "color: 4300K", "side", core.Match, ""},
		{"another kind of run", meter, "reference: window", "side", core.Keep, ""},
		{"a person reads", "feeds: [{name: m, kind: hand}]\n", "reference: window", "side", core.Match, ""},
	} {
		path := filepath.Join(t.TempDir(), "rig.yaml")
		text := "rig: r\noutput: {mode: own, unicast: [\"127.0.0.1:5568\"]}\n" + k.feeds + "target: {" + k.reference + ", level: 25 %}\nfixtures:\n" +
			strings.Replace(fixed, "PROBE", k.probe, 1) + lamp
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		r, err := rig.Load(path)
		if err != nil {
			t.Fatal(k.name, err)
		}
		j := Job{Rig: r, Work: k.work}
		if j.Compiled, err = Compile(r); err != nil {
			t.Fatal(k.name, err)
		}
		if j.Plan, err = PlanFor(r); err != nil {
			t.Fatal(k.name, err)
		}
		if ReadByHand(r) {
			j.Plan = Patient(j.Plan)
		}
		got := ""
		if u := j.ReadBeforehand(); u != nil {
			got = u.Info.Name
		}
		if got != k.want {
			t.Errorf("%s: reads %q before the run, want %q", k.name, got, k.want)
		}
	}
}
