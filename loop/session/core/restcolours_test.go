package core

import (
	"slices"
	"testing"
	"time"
)

// Lamps that nobody lights any more take the colour of their rest in the dark, while the last ones are read: the hand-over does not wait for
// mixes that nobody sees. None is sent there before its claim stands, and none is lit by it.
func TestLampsTakeTheColourOfTheirRestInTheDark(t *testing.T) {
	b := newBench(t, 5, func(c *Config) { c.Units = dimmed(5) })
	b.fade = 200 * time.Millisecond
	last := map[int][]uint32{}
	verified, seen := map[int]bool{}, 0
	b.tell(Event{Kind: Begin})
	for !b.c.Over() {
		for _, e := range b.log[seen:] {
			if e.Kind == KindVerify {
				verified[b.c.find(e.Fixture).Head] = true
			}
		}
		seen = len(b.log)
		for _, w := range b.d.Wishes {
			u := b.c.units[w.Head+1]
			if u.Head != w.Head {
				t.Fatalf("unit %d has head %d", w.Head+1, u.Head)
			}
			rest := u.Darkened(u.Rest)
			if last[w.Head] != nil && slices.Equal(w.Codes, rest) && !verified[w.Head] {
				t.Errorf("head %d takes the colour of its rest before its second visit has ended", w.Head)
			}
			last[w.Head] = w.Codes
		}
		b.answer()
	}
	for _, u := range b.c.units {
		if u.Head >= 0 && !slices.Equal(last[u.Head], u.Darkened(u.Rest)) {
			t.Errorf("%s was sent to %v last, the colour of its rest is %v", u.Info.Name, last[u.Head], u.Darkened(u.Rest))
		}
	}
}
