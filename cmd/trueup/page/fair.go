package page

import (
	"net"
	"net/netip"
	"sync"
)

// connsPerOne is what one address may hold open: a browser takes six and one for each stream. Without a share for each, one
// machine that opens connections and says nothing would keep everybody else's Stop out.
const connsPerOne = 96

// fairListener closes what an address opens beyond its share.
type fairListener struct {
	net.Listener
	mu   sync.Mutex
	open map[netip.Addr]int
}

func newFairListener(l net.Listener) *fairListener {
	return &fairListener{Listener: l, open: map[netip.Addr]int{}}
}

// Accept waits for the next connection of somebody who has not too many.
func (l *fairListener) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		p, err := netip.ParseAddrPort(c.RemoteAddr().String())
		if err != nil || !l.take(p.Addr().Unmap()) {
			c.Close()
			continue
		}
		return &fairConn{Conn: c, leave: sync.OnceFunc(func() { l.leave(p.Addr().Unmap()) })}, nil
	}
}

func (l *fairListener) take(a netip.Addr) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.open[a] >= connsPerOne {
		return false
	}
	l.open[a]++
	return true
}

func (l *fairListener) leave(a netip.Addr) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.open[a]--; l.open[a] <= 0 {
		delete(l.open, a)
	}
}

// fairConn gives its place back when it is closed.
type fairConn struct {
	net.Conn
	leave func()
}

func (c *fairConn) Close() error {
	defer c.leave()
	return c.Conn.Close()
}
