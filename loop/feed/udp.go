package feed

import (
	"context"
	"net"
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
	l := newLink(f)
	l.up()
	buf := make([]byte, 65536)
	for {
		n, _, err := pc.ReadFrom(buf)
		if err != nil {
			return err
		}
		l.datagram(buf[:n], "")
	}
}
