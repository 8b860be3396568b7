package rigtest

import (
	"strings"
	"testing"
	"time"

	"trueup/loop/session/core"
)

// A meter whose readings of a dark room scatter by what its electronics add, each a little off the others and none of it worth a thought beside a lamp, has nobody
// watch the dark for a minute until two of them agree.
func TestAMeterThatScattersInTheDarkIsNotWatched(t *testing.T) {
	for n := range 20 {
		c := class(t, "a meter with a floor of 0.01 lux")
		c.Lamps, c.Probes = 7, 1
		r := c.Rig(40, n)
		k := newCore(t, r.Config)
		w := r.world(k)
		w.Heard = func(e core.Entry) {
			if strings.Contains(e.Note, "it is watched, for some") {
				t.Errorf("rig %d after %s: %s", n, w.Now(), e.Note)
			}
		}
		w.run(longest * time.Duration(c.Lamps))
	}
}
