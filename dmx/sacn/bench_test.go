package sacn

import (
	"bytes"
	"fmt"
	"testing"
	"time"

	"trueup/dmx"
)

// nowhere takes everything at once.
type nowhere struct{}

func (nowhere) WriteBatch(ms []message, _ time.Time) (int, error) { return len(ms), nil }
func (nowhere) Close() error                                      { return nil }

// A tick of many universes without the system: what our own code costs.
func BenchmarkTick(b *testing.B) {
	for _, n := range []int{1, 256} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			cfg := SenderConfig{CID: CID{1}}
			for u := range n {
				cfg.Universes = append(cfg.Universes, dmx.Universe(u+1))
			}
			s := newSender(cfg)
			s.addLink("nowhere", func() (out, error) { return nowhere{}, nil }, toGroup(group4))
			now := time.Unix(1, 0)
			var f fade
			b.ReportAllocs()
			for b.Loop() {
				now = now.Add(framePeriod)
				s.tick(now, &f)
			}
		})
	}
}

// Nothing is allocated for a frame.
func TestAFrameCostsNoAllocation(t *testing.T) {
	s := newSender(SenderConfig{CID: CID{1}, Universes: []dmx.Universe{1, 2, 3}})
	s.addLink("nowhere", func() (out, error) { return nowhere{}, nil }, toGroup(group4))
	now := time.Unix(1, 0)
	var f fade
	if n := testing.AllocsPerRun(1000, func() {
		now = now.Add(framePeriod)
		s.tick(now, &f)
	}); n != 0 {
		t.Errorf("%v allocations a tick", n)
	}
}

// A received packet, from the datagram to the merged look; and its parts. The
// library's view is compared with reading the same fields ourselves.
func BenchmarkReceive(b *testing.B) {
	d := newDesk(1, 100, 1)
	p := d.says(bytes.Repeat([]byte{7}, 512)...)
	b.Run("gate", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			gate(p)
		}
	})
	b.Run("view by the library", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			decodeData(p)
		}
	})
	b.Run("all", func(b *testing.B) {
		t := newTable(ReceiverConfig{}, func(CID) bool { return false }, nil)
		now := time.Unix(1, 0)
		var res result
		b.ReportAllocs()
		for b.Loop() {
			now = now.Add(framePeriod)
			p[offSequence]++
			p[offSlots]++
			res.changed = res.changed[:0]
			t.packet(now, nobody, p, &res)
		}
	})
}
