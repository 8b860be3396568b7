package sacn

import (
	"hash/maphash"
	"sync/atomic"

	"trueup/dmx"
)

// outbox remembers what a sender of this program sent last, by universe and
// sequence number. A receiver that shares it tells our own packets, which
// multicast brings back to it, from those of another program that carries our
// CID: these are other bytes, or come where we send nothing. An address would
// not tell: two programs of one machine have the same, and a bridge that passes
// our packets on has one of its own.
//
// A sequence number is used again after 256 packets, which takes 5.8 s at the
// least: no packet of ours is under way for so long.
type outbox struct {
	seed maphash.Seed
	sent map[dmx.Universe]*[256]atomic.Uint64 // 0: nothing yet
}

func newOutbox(universes []dmx.Universe) *outbox {
	o := &outbox{seed: maphash.MakeSeed(), sent: map[dmx.Universe]*[256]atomic.Uint64{}}
	for _, u := range universes {
		o.sent[u] = new([256]atomic.Uint64)
	}
	return o
}

func (o *outbox) digest(packet []byte) uint64 { return max(1, maphash.Bytes(o.seed, packet)) }

// note is called before a data packet of universe u goes out.
func (o *outbox) note(u dmx.Universe, packet []byte) {
	if s := o.sent[u]; s != nil {
		s[packet[offSequence]].Store(o.digest(packet))
	}
}

// has tells whether a data packet that passed the gate is one that was noted.
func (o *outbox) has(packet []byte) bool {
	s := o.sent[dmx.Universe(be.Uint16(packet[offUniverse:]))]
	return s != nil && s[packet[offSequence]].Load() == o.digest(packet)
}
