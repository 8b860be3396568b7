package main

import (
	"strings"
	"testing"
	"time"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// A type that is known to change its colour is not announced as watched where no lamp can be.
func TestWhatCanNotBeWatchedIsNotAnnouncedAsWatched(t *testing.T) {
	j := session.Job{Rig: &rig.Rig{}, Work: core.Match, Plan: core.DefaultPlan(), Compiled: &session.Compiled{Units: []*session.Unit{{Unit: core.Unit{Info: core.FixtureInfo{Profile: "wash"}, Type: "a type"}}}}}
	j.Times.Steadiness = map[string]core.Steadiness{"a type": {Watched: 3, For: 8 * time.Second, Moved: 0.004}}
	for what, c := range map[string]struct {
		common core.CommonLevel
		second bool
		says   string
	}{
		"as usual":         {core.NoCommon, true, "each wash is read again 8 s after it was lit"},
		"one level":        {core.CommonEqual, true, "wash can not be watched in this match, where all are brought to one level"},
		"no second visits": {core.NoCommon, false, "wash can not be watched in this match, where none is read a second time"},
	} {
		j.Plan.Common, j.Plan.SecondVisit = c.common, c.second
		if notes := restlessTypes(j); len(notes) != 1 || !strings.HasPrefix(notes[0], c.says) {
			t.Errorf("%s: %q", what, notes)
		}
	}
}
