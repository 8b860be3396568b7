package session

import (
	"os"
	"path/filepath"
	"testing"

	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// typesOf compiles one fixture of each mode, every mode in a profile of its own
// with the same name.
func typesOf(t *testing.T, modes ...string) (types []string) {
	t.Helper()
	for _, m := range modes {
		path := filepath.Join(t.TempDir(), "p.yaml")
		if err := os.WriteFile(path, []byte("profile: P\nmodes:\n  - "+m+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		c := compiled(t, "  - {name: a, profile: \""+filepath.ToSlash(path)+"\", address: 1/1}\n  - {name: b, profile: \""+filepath.ToSlash(path)+"\", address: 2/77}\n")
		if len(c.Units) != 2 || c.Units[0].Type == "" || c.Units[0].Type != c.Units[1].Type {
			t.Errorf("two fixtures of one profile and mode are two types: %q, %q", c.Units[0].Type, c.Units[1].Type)
		}
		types = append(types, c.Units[0].Type)
	}
	return types
}

// Lamps whose profiles differ in anything are different types, so that neither
// a dead time nor what was learnt of one is taken for the other.
func TestLampsThatDifferAreDifferentTypes(t *testing.T) {
	for what, pair := range map[string][2]string{
		"response time": {`{mode: a, kind: cct, slots: 2, settle_ms: 20, cct: {slots: [1, 2], kelvin: [2700, 6500]}}`,
			`{mode: a, kind: cct, slots: 2, settle_ms: 1500, cct: {slots: [1, 2], kelvin: [2700, 6500]}}`},
		"RGB space": {`{mode: a, kind: hue-saturation, slots: 2, space: bt709, hue: {slots: [1]}, saturation: {slots: [2]}}`,
			`{mode: a, kind: hue-saturation, slots: 2, space: e1.54, hue: {slots: [1]}, saturation: {slots: [2]}}`},
		"hue the other way round": {`{mode: a, kind: hue-saturation, slots: 2, hue: {slots: [1]}, saturation: {slots: [2]}}`,
			`{mode: a, kind: hue-saturation, slots: 2, hue: {slots: [1], degrees: [360, 0]}, saturation: {slots: [2]}}`},
		"name of the mode": {`{mode: a, kind: cct, slots: 2, cct: {slots: [1, 2], kelvin: [2700, 6500]}}`,
			`{mode: b, kind: cct, slots: 2, cct: {slots: [1, 2], kelvin: [2700, 6500]}}`},
	} {
		if types := typesOf(t, pair[0], pair[1]); types[0] == types[1] {
			t.Errorf("two lamps that differ in their %s are one type", what)
		}
	}
}

// A dead time holds for one type as one feed reads it: the meter is a part of it.
func TestADeadTimeHoldsForOneTypeAndFeed(t *testing.T) {
	unit := func(kind, feed string) string { u := core.Unit{Type: kind, Feed: feed}; return u.SettleKey() }
	if unit("panel", "quick") == unit("panel", "slow") || unit("wash", "quick") == unit("panel", "quick") {
		t.Error("another feed or another type shares the dead time")
	}
	if unit("", "quick") != "" {
		t.Error("units without a type share a dead time")
	}
	r := &rig.Rig{Feeds: []rig.Feed{{Name: "quick", Probes: map[string]string{"1": "left", "2": "right"}}, {Name: "slow", Probes: map[string]string{"1": "far"}}}}
	if feedOf(r, "left") != "quick" || feedOf(r, "right") != "quick" || feedOf(r, "far") != "slow" || feedOf(r, "nowhere") != "" {
		t.Error("a probe is read by another feed than the rig says")
	}
}
