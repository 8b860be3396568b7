package feed

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"
)

// transport brings messages from one kind of place. One call of run is one
// life of the link: it connects, makes a link and says link.up, hands over what
// comes, and returns when the link has broken or ctx has ended. The supervisor
// calls it again after a while, so a transport holds no state between two lives
// beyond what must outlive them.
type transport interface {
	run(ctx context.Context, f *Feed) error
}

// refusal is an error after which trying again would not help: a path that is
// forbidden, an address that is none, an input that has ended.
type refusal struct{ err error }

func (r *refusal) Error() string { return r.err.Error() }
func (r *refusal) Unwrap() error { return r.err }

// refuse marks an error as final.
func refuse(format string, args ...any) error { return &refusal{fmt.Errorf(format, args...)} }

// Back-off between two lives of a link: doubles from the first to the last,
// and starts again after a life that brought a reading.
const (
	backOffFirst = 100 * time.Millisecond
	backOffLast  = 5 * time.Second
)

// supervise runs the transport again and again until ctx ends or it refuses.
func (f *Feed) supervise(ctx context.Context, t transport) {
	wait := backOffFirst
	for {
		before := f.acceptedCount()
		err := t.run(ctx, f)
		if ctx.Err() != nil {
			f.end(ErrClosed)
			return
		}
		var final *refusal
		if errors.As(err, &final) {
			f.refused(err)
			return
		}
		if err == nil || errors.Is(err, io.EOF) {
			err = errStreamEnded
		}
		if f.acceptedCount() > before {
			wait = backOffFirst
		}
		f.linkDown(err)
		select {
		case <-ctx.Done():
			f.end(ErrClosed)
			return
		case <-time.After(wait):
		}
		wait = min(2*wait, backOffLast)
	}
}

// newTransport makes the transport that a config asks for.
func newTransport(c Config) (transport, error) {
	if err := c.checkAsked(); err != nil {
		return nil, err
	}
	switch c.Kind {
	case "tcp":
		return newTCP(c)
	case "tcp-listen":
		return newTCPListener(c)
	case "udp", "osc":
		return newUDP(c)
	case "stdin":
		return newStdin(c)
	case "file":
		return newFile(c)
	case "serial":
		return newSerial(c)
	case "exec":
		return newExec(c)
	case "http":
		return newHTTP(c)
	case "mqtt":
		return newMQTT(c)
	case "hand":
		return newHand(c)
	case "replay":
		return newReplay(c)
	}
	return nil, fmt.Errorf("feed %s: kind %q is not known; want tcp, tcp-listen, udp, osc, stdin, file, serial, exec, http, mqtt, hand or replay", c.Name, c.Kind)
}
