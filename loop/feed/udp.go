package feed

import (
	"context"
	"net"
	"time"
)

// udpListener takes datagrams: text lines, JSON, or OSC packets.
type udpListener struct{ address string }

func newUDP(c Config) (transport, error) {
	a, err := listenAddress(c)
	return &udpListener{a}, err
}

func (t *udpListener) run(ctx context.Context, f *Feed) error {
	pc, err := new(net.ListenConfig).ListenPacket(ctx, "udp", t.address)
	if err != nil {
		return err
	}
	defer pc.Close()
	defer context.AfterFunc(ctx, func() { pc.Close() })()
	f.listening(pc.LocalAddr())
	from := newPeers(f)
	from.rest.up()
	buf := make([]byte, 65536)
	for {
		n, addr, err := pc.(*net.UDPConn).ReadFromUDPAddrPort(buf)
		if err != nil {
			return err
		}
		from.of(addr.Addr().String(), time.Now()).datagram(buf[:n], "")
	}
}
