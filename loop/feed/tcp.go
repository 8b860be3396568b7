package feed

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"time"
)

// tcpClient reads lines from a server.
type tcpClient struct {
	address string
	end     lineEnd
	maxLine int
}

func newTCP(c Config) (transport, error) {
	if _, _, err := net.SplitHostPort(c.Address); err != nil {
		return nil, fmt.Errorf("feed %s: address %q: want host:port, like 127.0.0.1:4001", c.Name, c.Address)
	}
	return &tcpClient{address: c.Address, maxLine: c.MaxLine}, nil
}

// A host that vanished without a word is noticed after about
// tcpIdle + tcpProbes*tcpInterval.
const (
	dialTimeout = 5 * time.Second
	tcpIdle     = 5 * time.Second
	tcpInterval = 2 * time.Second
	tcpProbes   = 3
)

func (t *tcpClient) run(ctx context.Context, l *link) error {
	d := net.Dialer{Timeout: dialTimeout, KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: tcpIdle, Interval: tcpInterval, Count: tcpProbes}}
	conn, err := d.DialContext(ctx, "tcp", t.address)
	if err != nil {
		return err
	}
	defer conn.Close()
	stop := context.AfterFunc(ctx, func() { conn.Close() })
	defer stop()
	l.up()
	err = lines(ctx, conn, t.end, t.maxLine, l)
	if errors.Is(err, io.EOF) {
		return errors.New("the other side closed the connection")
	}
	return err
}
