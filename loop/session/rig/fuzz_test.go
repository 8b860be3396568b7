package rig

import (
	"errors"
	"strings"
	"testing"

	"trueup/profiles/yamlfile"
)

// No text makes the reading panic; what it refuses, it refuses with a place;
// what it takes keeps the promises of the types.
func FuzzParse(f *testing.F) {
	f.Add(goodRig)                                                                    // everything
	f.Add(strings.Replace(goodRig, "wash 1..3", "wash 1..400", 1))                    // a long range over many universes
	f.Add(strings.Replace(goodRig, "1/481", "63999/500", 1))                          // past the last universe
	f.Add(strings.Replace(goodRig, "[wash 2..3, bar]", "[wash 0..99999]", 1))         // a group of nobody
	f.Add("rig: x\ntarget: {color: D65}\nfixtures: [{name: a, profile: old.yaml}]\n") // the shortest rig
	f.Add("rig: [\n")                                                                 // not YAML
	f.Add("rig: &a x\nfixtures: *a\n")                                                // anchors
	f.Add(strings.Replace(goodRig, "60 %", "NaN %", 1))                               // not a number
	f.Fuzz(func(t *testing.T, text string) {
		r, err := parseText(text)
		if err != nil {
			var all yamlfile.Errors
			if !errors.As(err, &all) || len(all) == 0 {
				t.Fatalf("an error without a place: %v", err)
			}
			return
		}
		checkPromises(t, r)
	})
}

// checkPromises holds a rig against what its types say of it.
func checkPromises(t *testing.T, r *Rig) {
	t.Helper()
	if err := r.Safety.Limits.Check(); err != nil {
		t.Errorf("limits: %v", err)
	}
	if !(r.Tolerance > 0) || r.Name == "" || len(r.Fixtures) == 0 || (r.Target.Color == "") == (r.Target.Reference == "") {
		t.Errorf("rig %+v", r)
	}
	if !r.Output.Multicast && len(r.Output.Unicast) == 0 {
		t.Error("nothing would be sent")
	}
	type slot struct{ u, s int }
	owner := map[slot]string{}
	for _, l := range r.Safety.Locked {
		for s := l.First; s <= l.Last; s++ {
			owner[slot{int(l.Universe), int(s)}] = "locked"
		}
	}
	names := map[string]bool{}
	for i := range r.Fixtures {
		f := &r.Fixtures[i]
		if names[f.Name] || f.Name == "" || f.Profile == nil {
			t.Errorf("fixture %+v", f)
		}
		names[f.Name] = true
		if !f.Fixed && !(f.Level > 0 && f.Level <= f.LevelCap) || f.LevelCap > r.Safety.Limits.LevelCap {
			t.Errorf("%s: level %v, cap %v", f.Name, f.Level, f.LevelCap)
		}
		if f.Sent() != f.Address.Valid() {
			t.Errorf("%s: sent %v, address %v", f.Name, f.Sent(), f.Address)
		}
		for s := range f.Footprint() {
			at := slot{int(f.Address.Universe), int(f.Address.Slot) + s}
			if owner[at] != "" || at.s > 512 {
				t.Errorf("%s and %s both on %v", f.Name, owner[at], at)
			}
			owner[at] = f.Name
		}
	}
}
