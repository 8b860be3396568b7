package sacn

import (
	"net/netip"
	"testing"
	"time"
)

// For tests that live outside the package because they need rooms above it.
var (
	OwnNetwork = ownNetwork
	Peer       = peer
	Begin      = begin
	InOrder    = inOrder
	TestCID    = testCID
	Start      = start
)

// ReadPacket takes a data packet apart, for watchers.
func ReadPacket(b []byte) (cid CID, sequence uint8, terminated bool, slots []byte, ok bool) {
	if k, r := gate(b); k != kindData || r != Accepted {
		return CID{}, 0, false, nil, false
	}
	return CID(b[22:38]), b[111], b[112]&0x40 != 0, b[126:], true
}

// Watched is one datagram as a third party saw it.
type Watched struct {
	At   time.Time
	From netip.AddrPort
	B    []byte
}

// Watch collects everything that is sent to universe 1 by multicast on ifi,
// until stop is called.
func Watch(t *testing.T, ifi string) (stop func() []Watched) {
	t.Helper()
	e, err := listen(loopbackAll, true)
	if err != nil {
		t.Fatal(err)
	}
	if err := e.join(membership{group4(1), ifi}); err != nil {
		t.Fatal(err)
	}
	var all []Watched
	done := make(chan struct{})
	go func() {
		defer close(done)
		var buf [2048]byte
		for {
			n, from, err := e.conn.ReadFromUDPAddrPort(buf[:])
			if err != nil {
				return
			}
			all = append(all, Watched{time.Now(), from, append([]byte(nil), buf[:n]...)})
		}
	}()
	return func() []Watched { e.conn.Close(); <-done; return all }
}
