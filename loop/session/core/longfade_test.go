package core

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// A lamp whose own fade takes eight seconds is watched until it stands: read before, it would be another light at each look, and what it
// gives while it goes out would count as somebody's moving light.
func TestALongFadeIsWatchedToItsEnd(t *testing.T) {
	const fade = 8 * time.Second
	b := newBench(t, 1, nil)
	b.read = func(a Ask, r *Reading) {
		last := &Event{}
		for _, e := range b.log {
			if e.Event != nil && e.Event.Kind == Arrived {
				last = e.Event
			}
		}
		if since := r.At - last.When; slices.Max(append(last.Sent, 0)) > 0 && since < fade && a.Probe == b.c.units[1].Info.Probe {
			r.Y *= 0.1 + 0.9*since.Seconds()/fade.Seconds()
		}
	}
	b.ended(nil)
	for _, e := range b.log {
		if e.Kind == KindSettle && strings.Contains(e.Note, "light ") {
			if at := b.c.units[1].settle; !strings.Contains(e.Note, "stands still") || at < 7*time.Second || at > 10*time.Second {
				t.Errorf("%s; %v is waited for", e.Note, at)
			}
			return
		}
	}
	t.Error("no dead time was measured")
}
