package page

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"trueup/dmx/sacn"
	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/loop/session/rig"
)

const healthEvery = time.Second

// watchHealth shows how what the run needs is doing, until ctx ends.
func (c *Control) watchHealth(ctx context.Context, run *session.Run) {
	tick := time.NewTicker(healthEvery)
	defer tick.Stop()
	var was []Health
	for {
		if now := healthOf(run.Health()); !slices.Equal(was, now) {
			was = now
			c.board.Top(func(t *Top) {
				if ctx.Err() == nil { // else the run has ended meanwhile
					t.Health = now
				}
			})
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

func healthOf(h session.Health) []Health {
	all := []Health{}
	for _, f := range h.Feeds {
		all = append(all, Health{Name: f.Name, Kind: "feed", Good: f.State == feed.Live || f.State == feed.Waiting && f.Why == "", Word: f.State.String(), Why: f.Why})
	}
	for _, w := range h.Ways {
		one := Health{Name: w.Name, Kind: "network", Good: w.Up || w.Errors == 0, Word: "sending"}
		if !one.Good {
			one.Word, one.Why = "down", w.Err
		}
		all = append(all, one)
	}
	if h.Overlay {
		one := Health{Name: "desk", Kind: "desk", Good: true, Word: "live"}
		switch {
		case len(h.Above) > 0:
			one.Good, one.Word, one.Why = false, "above us", strings.Join(h.Above, ", ")+" has the light"
		case len(h.NoDesk) > 0:
			one.Good, one.Word, one.Why = false, "silent", fmt.Sprintf("not heard on universe %v: its last look is held", h.NoDesk)
		}
		all = append(all, one)
	}
	if h.HeldBack > 0 {
		all = append(all, Health{Name: "flash guard", Kind: "governor", Good: true, Word: "holds back"})
	}
	return all
}

// StageNow says in a sentence what the stage shows after a run that ended with err. left tells that the lamps were left as they
// stood.
func StageNow(j session.Job, left bool, err error) string {
	switch {
	case len(j.Compiled.Heads) == 0:
		return "the fixtures stand as they were set by hand"
	case errors.Is(err, sacn.ErrContended):
		return "nothing is sent any more: the fixtures do what the other source sends, and without it what they do without data"
	case left:
		return "the fixtures were left as they stood, and nothing is sent any more: they do what they do without data"
	case j.Rig.Output.Mode == rig.Overlay:
		return "the desk has its fixtures back: the stage shows the desk's look"
	}
	return "the stage shows the look at the start again: fixtures of this rig are at rest, most of them dark, and nothing is sent any more"
}

// runName is how a run is called: by its folder.
func runName(dir string) string {
	if dir == "" {
		return ""
	}
	return filepath.Base(dir)
}
