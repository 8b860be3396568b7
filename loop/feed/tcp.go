package feed

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"slices"
	"sync"
	"time"
)

// tcpClient reads lines from a server.
type tcpClient struct{ address string }

func newTCP(c Config) (transport, error) {
	if err := CheckAddress(c.Kind, c.Address); err != nil {
		return nil, fmt.Errorf("feed %s: %w", c.Name, err)
	}
	return &tcpClient{c.Address}, nil
}

// CheckAddress says what is wrong with the address of a kind of feed that wants host:port; other kinds have their own.
func CheckAddress(kind, address string) error {
	all := " (0.0.0.0:7311 for everybody)"
	switch kind {
	case "", "tcp":
		all = ""
	case "tcp-listen", "udp", "osc", "http":
	default:
		return nil
	}
	_, port, err := net.SplitHostPort(address)
	if err == nil && port != "" {
		_, err = net.LookupPort("ip", port)
	}
	if err != nil || port == "" {
		return fmt.Errorf("address %q: want host:port, like 127.0.0.1:7311%s; a port is a number up to 65535", address, all)
	}
	return nil
}

// A host that vanished without a word is noticed after about idle + count *
// interval = 11 s.
var keepAlive = net.KeepAliveConfig{Enable: true, Idle: 5 * time.Second, Interval: 2 * time.Second, Count: 3}

const dialTimeout = 5 * time.Second

func (t *tcpClient) run(ctx context.Context, f *Feed) error {
	d := net.Dialer{Timeout: dialTimeout, KeepAliveConfig: keepAlive}
	conn, err := d.DialContext(ctx, "tcp", t.address)
	if err != nil {
		return err
	}
	return stream(ctx, conn, newLink(f))
}

// tcpListener waits for meters to call.
type tcpListener struct{ address string }

// maxCallers bounds the meters that may be connected at once.
const maxCallers = 16

func newTCPListener(c Config) (transport, error) {
	a, err := listenAddress(c)
	return &tcpListener{a}, err
}

// listenAddress checks host:port; without a host it is this machine alone.
func listenAddress(c Config) (string, error) {
	if err := CheckAddress(c.Kind, c.Address); err != nil {
		return "", fmt.Errorf("feed %s: %w", c.Name, err)
	}
	host, port, _ := net.SplitHostPort(c.Address) // it has both
	if host == "" {
		host = "127.0.0.1"
	}
	return net.JoinHostPort(host, port), nil
}

func (t *tcpListener) run(ctx context.Context, f *Feed) error {
	ln, err := new(net.ListenConfig).Listen(ctx, "tcp", t.address)
	if err != nil {
		return err
	}
	f.listening(ln.Addr())
	defer context.AfterFunc(ctx, func() { ln.Close() })()
	defer ln.Close()
	// Callers end with the listener.
	ctx, cancel := context.WithCancel(ctx)
	var wg sync.WaitGroup
	defer wg.Wait()
	defer cancel()
	callers := &callers{}
	for {
		conn, err := ln.Accept()
		if err != nil {
			return err
		}
		l := newLink(f)
		if !callers.admit(conn, l, time.Now()) {
			conn.Close()
			f.cfg.Log.Warn().Str("feed", f.cfg.Name).Stringer("from", conn.RemoteAddr()).Msg("too many meters connected; turned away")
			continue
		}
		conn.(*net.TCPConn).SetKeepAliveConfig(keepAlive)
		wg.Go(func() {
			err := stream(ctx, conn, l)
			if callers.leave(conn) && ctx.Err() == nil {
				f.linkDown(fmt.Errorf("no meter is connected: %w", orEnded(err)))
			}
		})
	}
}

// callers are the connections to a listener.
type callers struct {
	mu  sync.Mutex
	all []caller
}

type caller struct {
	conn  net.Conn
	link  *link
	since time.Time
}

// silentCaller is how long a caller may bring no reading before another may
// have its place.
const silentCaller = 2 * time.Second

// admit takes a caller in. Where all places are taken, the one that has brought
// no reading for the longest has to go: those who say nothing can not keep a
// meter out.
func (c *callers) admit(conn net.Conn, l *link, now time.Time) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.all) >= maxCallers {
		oldest := slices.MinFunc(c.all, func(a, b caller) int { return a.heard().Compare(b.heard()) })
		if now.Sub(oldest.heard()) < silentCaller {
			return false
		}
		oldest.conn.Close()
		c.remove(oldest.conn)
	}
	c.all = append(c.all, caller{conn, l, now})
	return true
}

func (c caller) heard() time.Time {
	if t := c.link.lastReading(); t.After(c.since) {
		return t
	}
	return c.since
}

func (c *callers) remove(conn net.Conn) {
	c.all = slices.DeleteFunc(c.all, func(have caller) bool { return have.conn == conn })
}

// leave lets a caller out, and reports whether it was the last.
func (c *callers) leave(conn net.Conn) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.remove(conn)
	return len(c.all) == 0
}

func orEnded(err error) error {
	if err == nil || errors.Is(err, io.EOF) {
		return errStreamEnded
	}
	return err
}
