package feed

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// transport brings messages from one kind of place. One call of run is one
// life of the link: it connects, says so with l.up, hands every message to
// l.message, and returns when the link has broken or ctx has ended. The
// supervisor calls it again after a while, so a transport holds no state
// between two lives.
type transport interface {
	run(ctx context.Context, l *link) error
}

// refusal is an error after which trying again would not help: a path that is
// forbidden, an address that is none.
type refusal struct{ err error }

func (r *refusal) Error() string { return r.err.Error() }
func (r *refusal) Unwrap() error { return r.err }

// refuse marks an error as final.
func refuse(format string, args ...any) error { return &refusal{fmt.Errorf(format, args...)} }

// link is the feed's side of a transport: what run may say.
type link struct{ f *Feed }

// up says that the link stands. Sequence numbers may start anew.
func (l *link) up() { l.f.linkUp(time.Now()) }

// message hands over one message (a line, a datagram, a body). The bytes are
// only borrowed.
func (l *link) message(m []byte) { l.f.message(m, time.Now()) }

// tooLong counts a message that exceeded the bound and was dropped unread.
func (l *link) tooLong(n int) {
	l.f.setAside(Aside{Reason: TooLong, Words: fmt.Sprintf("more than %d bytes without an end", n)})
}

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
		err := t.run(ctx, &link{f})
		if ctx.Err() != nil {
			f.end(ErrClosed)
			return
		}
		var final *refusal
		if errors.As(err, &final) {
			f.refused(err)
			return
		}
		if err == nil {
			err = errors.New("the other side ended the link")
		}
		if f.acceptedCount() > before {
			wait = backOffFirst
		}
		f.linkDown(err, wait)
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
	switch c.Kind {
	case "tcp":
		return newTCP(c)
	}
	return nil, fmt.Errorf("feed %s: kind %q is not known", c.Name, c.Kind)
}
