package session

import (
	"os"
	"path/filepath"
	"testing"

	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// jobOfTwo is a job on a rig of two fixtures, key and another.
func jobOfTwo(t *testing.T, target, tolerance, fill string) Job {
	t.Helper()
	profiles, err := filepath.Abs("../../examples/profiles")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "rig.yaml")
	text := "rig: r\noutput: {mode: own, unicast: [\"127.0.0.1:5568\"]}\ntarget: {" + target + ", level: 25 %}\ntolerance: " + tolerance + "\nfixtures:\n" +
		"  - {name: key, profile: " + filepath.ToSlash(profiles) + "/wiffelmoor-wash-8.yaml, address: 1/1}\n" +
		"  - {name: " + fill + ", profile: " + filepath.ToSlash(profiles) + "/wiffelmoor-wash-8.yaml, address: 1/11}\n"
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	r, err := rig.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	j := Job{Rig: r, Work: core.Match}
	if j.Compiled, err = Compile(r); err != nil {
		t.Fatal(err)
	}
	if j.Plan, err = PlanFor(r); err != nil {
		t.Fatal(err)
	}
	return j
}

// The journal of a run that matches to a lamp which is driven says how that lamp is lit: sheet, cue and recall need it.
func TestTheJournalSaysHowADrivenReferenceIsLit(t *testing.T) {
	j := jobOfTwo(t, "reference: key", "0.0010", "fill")
	cfg := j.Config()
	info, err := j.info(&cfg, 100)
	if err != nil {
		t.Fatal(err)
	}
	lit := info.Fixtures[0].Lit
	if lit == nil || len(lit.Slots) == 0 || len(lit.Settings) == 0 || info.Fixtures[1].Lit != nil {
		t.Fatalf("%+v and %+v", lit, info.Fixtures[1].Lit)
	}
	sum := 0
	for _, s := range lit.Slots {
		sum += int(s.Value)
	}
	if sum == 0 {
		t.Errorf("it is dark: %+v", lit.Slots)
	}
}
