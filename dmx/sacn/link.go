package sacn

import (
	"errors"
	"net"
	"os"
	"time"

	"github.com/rs/zerolog"
)

const (
	writePatience = 10 * time.Millisecond // a full buffer may hold the pace up for so long
	failuresUntil = 3                     // failed batches in a row before the socket is opened afresh
	backoffFirst  = 250 * time.Millisecond
	backoffLast   = 2 * time.Second
	// sayAfter is how long a way out may fail before a person hears of it: half
	// of the time after which receivers give a silent source up.
	sayAfter = dataLossTimeout / 2
)

// out is what a link writes to: a socket, or a recorder in tests.
type out interface {
	// WriteBatch hands messages to the system in order, and returns how many it
	// took before an error. It always tries, however late it is; where the
	// system's buffer is full it waits for room, until the time given.
	WriteBatch(ms []message, until time.Time) (int, error)
	Close() error
}

// link is one way out: multicast on one interface, or one unicast receiver. It
// fails and recovers by itself, so that a dead one holds up no other.
type link struct {
	name  string
	dial  func() (out, error)
	to    func(group uint16) net.Addr // where packets of a universe go
	group bool                        // multicast: gets discovery as well
	table []message                   // one message a stream, built once
	ms    []message                   // scratch of one batch

	cable    *cable // nil: not watched
	out      out
	failures int
	retry    time.Time
	backoff  time.Duration
	wholeAt  time.Time // when a batch last went out whole; at first, when one was first tried
	said     bool      // that it fails
	owed     []message // announcements that did not get out

	state LinkState
	log   zerolog.Logger
}

// LinkState is how one way out of a [Sender] is doing.
type LinkState struct {
	Name    string // "eth0 (IPv4)" or "10.0.0.7:5568"
	Up      bool   // the last batch left without an error
	Err     string // why it is down
	Since   time.Time
	Packets uint64 // handed to the system
	Errors  uint64 // batches that failed
}

// send hands one batch to the system. It returns true when this batch is the
// first to pass after a failure, so that everything is said again.
func (l *link) send(now time.Time, ms []message) (recovered bool) {
	if l.wholeAt.IsZero() {
		l.wholeAt = now
	}
	if l.out == nil && now.Before(l.retry) {
		l.sayIfItLasts(now)
		return false
	}
	if err := l.open(now); err != nil {
		l.fail(now, err, 0)
		return false
	}
	if n, err := l.write(ms); err != nil {
		l.fail(now, err, n)
		return false
	}
	recovered = l.failures > 0
	if !l.state.Up {
		l.state.Up, l.state.Err, l.state.Since = true, "", now
	}
	if l.said {
		l.log.Info().Str("way", l.name).Msg("sACN output is back")
	}
	l.failures, l.backoff, l.wholeAt, l.said = 0, 0, now, false
	return recovered
}

// open sees to a socket, on an interface that has a cable.
func (l *link) open(now time.Time) error {
	if l.cable != nil {
		if err := l.cable.out(now); err != nil {
			return err
		}
	}
	if l.out == nil {
		o, err := l.dial()
		if err != nil {
			return err
		}
		l.out = o
	}
	return nil
}

// write hands ms over and returns how many the system took, with the last
// error. A datagram that fails is left behind: its stream speaks again soon.
// Nothing is dropped for being late; the time that a full buffer may cost is
// counted from here, not from the tick.
func (l *link) write(ms []message) (taken int, err error) {
	until := time.Now().Add(writePatience)
	for inRow := 0; len(ms) > 0 && inRow < failuresUntil; {
		n, failed := l.out.WriteBatch(ms, until)
		n = max(0, min(n, len(ms)))
		l.state.Packets += uint64(n)
		taken += n
		ms = ms[n:]
		if failed == nil && n > 0 {
			inRow = 0
			continue
		}
		if err = failed; err == nil {
			err = errNothingSent
		}
		if errors.Is(err, os.ErrDeadlineExceeded) {
			break // no room: the next datagram would find none either
		}
		inRow++
		ms = ms[min(1, len(ms)):]
	}
	return taken, err
}

// fail notes an error, says it if it lasts, and after a few batches in a row of
// which nothing went out opens afresh: an interface that came back under
// another number needs a new socket.
func (l *link) fail(now time.Time, err error, taken int) {
	l.failures++
	l.state.Errors++
	if l.state.Up || l.failures == 1 {
		l.state.Up, l.state.Since = false, now
	}
	l.state.Err = err.Error()
	l.sayIfItLasts(now)
	if taken > 0 || l.failures < failuresUntil && l.out != nil {
		return
	}
	l.close()
	if now.Sub(l.wholeAt) < dataLossTimeout {
		l.backoff = backoffFirst // receivers still wait for us
	} else {
		l.backoff = min(2*l.backoff, backoffLast)
	}
	l.retry = now.Add(l.backoff)
}

// sayIfItLasts says once that this way out fails, when no batch has gone out
// whole for sayAfter.
func (l *link) sayIfItLasts(now time.Time) {
	if l.said || now.Sub(l.wholeAt) < sayAfter {
		return
	}
	l.said = true
	l.log.Warn().Str("way", l.name).Str("error", l.state.Err).Msg("sACN output fails; trying again until it works")
}

func (l *link) close() {
	if l.out != nil {
		l.out.Close()
		l.out = nil
	}
}

type sendError string

func (e sendError) Error() string { return string(e) }

const errNothingSent = sendError("the system took nothing and gave no reason")
