package core

import (
	"testing"
	"time"
)

// What a run has found is put together with what was known: a shorter watch takes nothing away, a unit watched again is
// no second one, and a restless type is cleared only by as many, watched as long.
func TestWhatIsKnownAfterAnotherWatch(t *testing.T) {
	const s = time.Second
	for _, c := range []struct{ before, run, want Steadiness }{
		{Steadiness{}, Steadiness{Watched: 1, For: 8 * s}, Steadiness{Watched: 1, For: 8 * s}},
		{Steadiness{Watched: 3, For: 8 * s}, Steadiness{}, Steadiness{Watched: 3, For: 8 * s}},
		{Steadiness{Watched: 3, For: 8 * s}, Steadiness{Watched: 3, For: 5 * s}, Steadiness{Watched: 3, For: 8 * s}},
		{Steadiness{Watched: 3, For: 8 * s}, Steadiness{Watched: 1, For: 60 * s}, Steadiness{Watched: 3, For: 8 * s}},
		{Steadiness{Watched: 3, For: 8 * s}, Steadiness{Watched: 4, For: 20 * s}, Steadiness{Watched: 4, For: 20 * s}},
		{Steadiness{Watched: 1, For: 60 * s}, Steadiness{Watched: 3, For: 8 * s}, Steadiness{Watched: 3, For: 8 * s}},
		{Steadiness{Watched: 1, For: 8 * s}, Steadiness{Watched: 1, For: 8 * s}, Steadiness{Watched: 1, For: 8 * s}},
		{Steadiness{Watched: 3, For: 8 * s}, Steadiness{Watched: 1, For: 2 * s, Moved: 0.002}, Steadiness{Watched: 1, For: 2 * s, Moved: 0.002}},
		{Steadiness{Watched: 3, For: 8 * s, Moved: 0.003}, Steadiness{Watched: 1, For: 2 * s, Moved: 0.002}, Steadiness{Watched: 1, For: 8 * s, Moved: 0.002}},
		{Steadiness{Watched: 1, For: 8 * s, Moved: 0.003}, Steadiness{Watched: 9, For: 7 * s}, Steadiness{Watched: 1, For: 8 * s, Moved: 0.003}},
		{Steadiness{Watched: 1, For: 8 * s, Moved: 0.003}, Steadiness{Watched: 2, For: 9 * s}, Steadiness{Watched: 1, For: 8 * s, Moved: 0.003}},
		{Steadiness{Watched: 1, For: 8 * s, Moved: 0.003}, Steadiness{Watched: 3, For: 8 * s}, Steadiness{Watched: 3, For: 8 * s}},
	} {
		if got := c.before.After(c.run); got != c.want {
			t.Errorf("%+v, then %+v: %+v, want %+v", c.before, c.run, got, c.want)
		}
	}
}
