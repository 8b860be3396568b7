package feed

import (
	"context"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"
)

// tcpClient reads lines from a server.
type tcpClient struct{ address string }

func newTCP(c Config) (transport, error) {
	if _, _, err := net.SplitHostPort(c.Address); err != nil {
		return nil, fmt.Errorf("feed %s: address %q: want host:port, like 127.0.0.1:4001", c.Name, c.Address)
	}
	return &tcpClient{c.Address}, nil
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
	host, port, err := net.SplitHostPort(c.Address)
	if err != nil {
		return "", fmt.Errorf("feed %s: address %q: want host:port, like 127.0.0.1:4001 (0.0.0.0:4001 for everybody)", c.Name, c.Address)
	}
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
	var mu sync.Mutex
	callers := 0
	for {
		conn, err := ln.Accept()
		if err != nil {
			return err
		}
		mu.Lock()
		full := callers >= maxCallers
		if !full {
			callers++
		}
		mu.Unlock()
		if full {
			conn.Close()
			f.cfg.Log.Warn().Str("feed", f.cfg.Name).Stringer("from", conn.RemoteAddr()).Msg("too many meters connected; turned away")
			continue
		}
		conn.(*net.TCPConn).SetKeepAliveConfig(keepAlive)
		wg.Go(func() {
			err := stream(ctx, conn, newLink(f))
			mu.Lock()
			callers--
			last := callers == 0
			mu.Unlock()
			if last && ctx.Err() == nil {
				f.linkDown(fmt.Errorf("no meter is connected: %w", orEnded(err)), 0)
			}
		})
	}
}

func orEnded(err error) error {
	if err == nil {
		return errors.New("link ended")
	}
	return err
}
