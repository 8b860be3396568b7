package sacn

import (
	"context"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"trueup/dmx"
)

var interrupt = os.Interrupt

// patterns gives each universe another look that ends after a while.
type patterns struct{ frames int }

func (p *patterns) Levels(_ time.Time, u dmx.Universe, dst *[512]byte) int {
	p.frames++
	for i := range dst {
		dst[i] = byte(i*7+int(u)) ^ byte(min(p.frames, 150))
	}
	return 512
}

// A receiver that others wrote ends up with the very levels that we sent, by
// multicast, on three universes.
func TestAFixtureOfOthersShowsWhatWeSend(t *testing.T) {
	if !ownNetwork(t) {
		return
	}
	bin := peer(t, "fixture")
	lines, _ := begin(t, "ready", bin, "net0", "4s", "1", "2", "3")
	s, err := NewSender(SenderConfig{CID: CID{9}, SourceName: "left", Priority: 77, Universes: []dmx.Universe{1, 2, 3}, Multicast: true, Interfaces: []string{"net0"}})
	if err != nil {
		t.Fatal(err)
	}
	rec := tap(s, 0)
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Second+200*time.Millisecond)
	defer cancel()
	if err := s.Run(ctx, &patterns{}); err != nil {
		t.Fatal(err)
	}
	want := map[string]bool{}
	for u := dmx.Universe(1); u <= 3; u++ {
		p := of(rec.packets(), u)
		want[fmt.Sprintf("%d %x left 77", u, p[len(p)-1].b[126:])] = true
	}
	if len(want) != 3 {
		t.Fatal("the looks are not different from each other")
	}
	for l := range lines {
		if !want[l] {
			t.Errorf("the fixture shows %s", l)
		}
		delete(want, l)
	}
	for l := range want {
		t.Errorf("the fixture does not show %s", strings.SplitN(l, " ", 2)[0])
	}
}
