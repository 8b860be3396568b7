package sacn

import (
	"net"
	"time"

	"github.com/rs/zerolog"
)

const (
	writePatience = 10 * time.Millisecond // a full buffer may hold the pace up for so long
	failuresUntil = 3                     // failed batches in a row before the socket is opened afresh
	backoffFirst  = 250 * time.Millisecond
	backoffLast   = 2 * time.Second
)

// out is what a link writes to: a socket, or a recorder in tests.
type out interface {
	WriteBatch(ms []message) (int, error)
	SetWriteDeadline(t time.Time) error
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
	if l.out == nil && now.Before(l.retry) {
		return false
	}
	if l.cable != nil {
		if err := l.cable.out(now); err != nil {
			l.fail(now, err)
			return false
		}
	}
	if l.out == nil {
		o, err := l.dial()
		if err != nil {
			l.fail(now, err)
			return false
		}
		l.out = o
	}
	if err := l.out.SetWriteDeadline(now.Add(writePatience)); err != nil {
		l.fail(now, err)
		return false
	}
	var bad error
	inRow := 0
	for len(ms) > 0 && inRow < failuresUntil {
		n, err := l.out.WriteBatch(ms)
		n = max(0, min(n, len(ms)))
		l.state.Packets += uint64(n)
		ms = ms[n:]
		if err == nil && n > 0 {
			inRow = 0
			continue
		}
		if err == nil {
			err = errNothingSent
		}
		bad = err
		inRow++
		if len(ms) > 0 {
			ms = ms[1:] // leave the datagram that failed; its stream speaks again soon
		}
	}
	if bad != nil {
		l.fail(now, bad)
		return false
	}
	recovered = l.failures > 0
	if !l.state.Up {
		l.state.Up, l.state.Err, l.state.Since = true, "", now
		if recovered {
			l.log.Info().Str("way", l.name).Msg("sACN output is back")
		}
	}
	l.failures, l.backoff = 0, 0
	return recovered
}

// fail notes an error, says it once, and after a few in a row opens afresh:
// an interface that came back under another number needs a new socket.
func (l *link) fail(now time.Time, err error) {
	l.failures++
	l.state.Errors++
	if l.state.Up || l.failures == 1 {
		l.state.Up, l.state.Since = false, now
		l.log.Warn().Str("way", l.name).Err(err).Msg("sACN output fails; trying again until it works")
	}
	l.state.Err = err.Error()
	if l.failures < failuresUntil && l.out != nil {
		return
	}
	l.close()
	l.backoff = min(max(2*l.backoff, backoffFirst), backoffLast)
	l.retry = now.Add(l.backoff)
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
