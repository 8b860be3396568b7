package rigtest

import (
	"strings"
	"testing"
	"time"

	"trueup/loop/session/core"
)

// Lamps that are known to change their colour by themselves are named at the end of a match that could not watch them.
func TestKnownRestlessLampsThatWereNotWatchedAreNamed(t *testing.T) {
	for _, common := range []core.CommonLevel{core.NoCommon, core.CommonEqual} {
		r := class(t, "lamps that calibrate themselves").Rig(13, 0)
		r.Config.Plan.Common = common
		r.Config.Steadiness = map[string]core.Steadiness{}
		for i := range r.Config.Units {
			if u := &r.Config.Units[i]; u.Type != "" {
				r.Config.Steadiness[u.Type] = core.Steadiness{Watched: 3, For: 8 * time.Second, Moved: 0.004}
			}
		}
		c := newCore(t, r.Config)
		w, end := r.world(c), (*core.Entry)(nil)
		w.Heard = func(e core.Entry) {
			if e.Kind == core.KindEnd {
				end = &e
			}
		}
		w.run(longest * time.Duration(len(r.lamps)))
		if end == nil {
			t.Fatal("the match has not ended")
		}
		if named := strings.Contains(end.Unwatched, "known to change their colour by themselves, and not watched: "); named != (common != core.NoCommon) {
			t.Errorf("common level %q: %q", common, end.Unwatched)
		}
	}
}
