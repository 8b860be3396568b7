package sacn

import (
	"bytes"
	"math/rand/v2"
	"net"
	"os"
	"runtime"
	"testing"
	"time"

	"trueup/dmx"
)

// attack makes one hostile datagram: noise, cut, stretched, with lying lengths
// and counts, with one field spoilt, or of good form from a source that is
// nobody. None of them may touch universe 1 as its desk shows it: strangers of
// good form speak below the desk's priority, on other universes, in preview,
// with other START codes, or they say goodbye in the name of nobody.
func attack(r *rand.Rand, good []byte) []byte {
	b := bytes.Clone(good)
	switch r.IntN(9) {
	case 0: // noise of any length
		b = make([]byte, r.IntN(1500))
		for i := range b {
			b[i] = byte(r.Uint32())
		}
	case 1: // cut anywhere
		b = b[:r.IntN(len(b))]
	case 2: // stretched
		b = append(b, make([]byte, 1+r.IntN(800))...)
	case 3: // a count that lies
		n := uint16(r.Uint32())
		if int(n) == len(b)-offStartCode {
			n++
		}
		be.PutUint16(b[offCount:], n)
	case 4: // a length that lies
		off := []int{offRootLength, offFrameLength, offDMPLength}[r.IntN(3)]
		be.PutUint16(b[off:], be.Uint16(b[off:])^uint16(1+r.IntN(0xffff)))
	case 5: // a spoilt byte in the constants
		off := []int{0, 1, 2, 3, 4, 9, 15, 18, 19, 20, 21, 40, 41, 42, 43, 117, 118, 119, 120, 121, 122}[r.IntN(21)]
		b[off] ^= byte(1 + r.IntN(255))
	case 6: // nobody we know, below the desk's priority
		stranger(r, b)
		b[offPriority] = byte(r.IntN(100))
		b[offSequence] = byte(r.Uint32())
	case 7: // nobody we know, at the top, but not live: preview, goodbye, other START codes
		stranger(r, b)
		b[offPriority] = 200
		switch r.IntN(3) {
		case 0:
			b[offOptions] = optPreview
		case 1:
			b[offOptions] = optTerminated
		case 2:
			b[offStartCode] = []byte{0x17, 0x55, 0xcf, 0xcc, 0x91, 1, 255}[r.IntN(7)]
		}
	case 8: // another universe, reserved ones included; or a flood of announcements
		stranger(r, b)
		if r.IntN(2) == 0 {
			be.PutUint16(b[offUniverse:], uint16(2+r.IntN(65534)))
			break
		}
		b = discoveryPackets(CID(b[22:38]), "flood", []dmx.Universe{1, 2, 3})[0]
		b[offPage], b[offLastPage] = byte(r.IntN(256)), byte(r.IntN(256))
	}
	return b
}

func stranger(r *rand.Rand, b []byte) {
	for i := offCID; i < offCID+16; i++ {
		b[i] = byte(r.Uint32())
	}
	for i := offName; i < offName+60; i++ {
		b[i] = byte(r.Uint32())
	}
}

// how many datagrams; the long form is a million.
func hostileCount() int {
	if os.Getenv("TRUEUP_LONG") == "1" {
		return 1_000_000
	}
	return 50_000
}

// Hostile datagrams by the thousand, through a real socket: the receiver lives,
// its memory stays, and the desk's look is untouched, while the desk goes on.
func TestHostileDatagramsChangeNothing(t *testing.T) {
	for name, cfg := range map[string]ReceiverConfig{"named universes": {Universes: []dmx.Universe{1}}, "any universe": {}} {
		cfg.Listen = loopback()
		r, err := NewReceiver(cfg)
		if err != nil {
			t.Fatal(err)
		}
		stop := start(t, r.Run)
		c, err := net.Dial("udp", r.LocalAddr().String())
		if err != nil {
			t.Fatal(err)
		}
		d := newDesk(200, 100, 1)
		look := bytes.Repeat([]byte{10, 20, 30, 40}, 128)
		speak := func() { c.Write(d.says(look...)) }
		speak()
		var got [512]byte
		await(t, "the desk", func() bool { _, live := r.Levels(1, &got); return live })

		rnd := rand.New(rand.NewPCG(1, 2))
		evil := &desk{}
		evil.pkt.init(CID{66}, "evil", 100, 0, 1)
		good := evil.says(bytes.Repeat([]byte{255}, 512)...)
		// Fill what may be filled, then see that it stays.
		for range 5000 {
			c.Write(attack(rnd, good))
		}
		speak()
		before := heap()
		begin := time.Now()
		n := hostileCount() / 2
		for i := range n {
			c.Write(attack(rnd, good))
			if i%500 == 0 { // the desk goes on; and the receiver keeps up, so that nothing is lost unseen
				speak()
				said := time.Now()
				await(t, "the receiver keeps up", func() bool {
					if time.Since(said) > 50*time.Millisecond { // a full buffer may have dropped it
						speak()
						said = time.Now()
					}
					return heard(r, CID{200}) == d.pkt.buf[offSequence]
				})
			}
			if i%5000 == 0 {
				if slots, live := r.Levels(1, &got); !live || slots != 512 || !bytes.Equal(got[:], look) {
					t.Fatalf("%s: after %d the look is %v..., %d slots, live %v", name, i, got[:8], slots, live)
				}
			}
		}
		speak()
		await(t, "the last look", func() bool { return heard(r, CID{200}) == d.pkt.buf[offSequence] })
		if slots, live := r.Levels(1, &got); !live || slots != 512 || !bytes.Equal(got[:], look) {
			t.Errorf("%s: in the end the look is %v..., %d slots, live %v", name, got[:8], slots, live)
		}
		if grown := int64(heap()) - int64(before); grown > 4<<20 {
			t.Errorf("%s: memory grew by %d bytes", name, grown)
		}
		total := judged(r)
		t.Logf("%s: %d sent, %d judged in %v, refused %v", name, n, total, time.Since(begin), r.Refused())
		if total < uint64(n)/2 {
			t.Errorf("%s: only %d of %d arrived: nothing is shown", name, total, n)
		}
		c.Close()
		stop()
	}
}

// heard is the last sequence number of a source on universe 1.
func heard(r *Receiver, cid CID) uint8 {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, s := range r.table.universes[1].sources {
		if s.info.CID == cid {
			return s.sequence
		}
	}
	return 0
}

// judged counts the datagrams that were refused or taken.
func judged(r *Receiver) (n uint64) {
	for _, c := range r.Refused() {
		n += c
	}
	for _, s := range r.Sources() {
		n += s.Packets
	}
	return n
}

// heap is what is in use after a collection.
func heap() uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}
