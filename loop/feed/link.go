package feed

import (
	"bytes"
	"fmt"
	"time"

	"trueup/loop/feed/instrument"
)

// link is the feed's side of one peer: what a transport may say. Each peer has
// its own, since lines of two meters must not mix in one block, and one that
// floods us must not use up what another may send.
type link struct {
	f     *Feed
	dec   instrument.Decoder
	rate  rate      // of messages; guarded by the feed's lock
	lines rate      // of lines read from a stream; of its reader
	last  time.Time // of the last accepted reading; guarded by the feed's lock
}

func (l *link) lastReading() time.Time {
	l.f.mu.Lock()
	defer l.f.mu.Unlock()
	return l.last
}

func newLink(f *Feed) *link {
	return &link{f: f, dec: instrument.NewDecoder(f.cfg.Instrument, &f.precision), rate: rate{perSecond: f.cfg.MaxRate}, lines: rate{perSecond: flood * f.cfg.MaxRate}}
}

// flood times the rate that a peer may send is no meter. Its stream is read no
// further: to read on costs the machine, and to wait would let old light pass
// for new, since what waits in a connection has no time of its own.
const flood = 10

// flooded reports whether a stream has brought too many lines, of any kind.
func (l *link) flooded() error {
	if l.lines.allow(time.Now()) {
		return nil
	}
	return fmt.Errorf("more than %d lines in a second: is this a meter?", l.lines.perSecond)
}

// up says that the link stands. Sequence numbers may start anew.
func (l *link) up() { l.f.linkUp() }

// line hands over one line; asked is when the measurement was triggered, zero
// if it was not. The bytes are only borrowed.
func (l *link) line(b []byte, asked time.Time) verdict {
	return l.f.message(l, instrument.Message{Data: b, Asked: asked}, time.Now())
}

// heard records what the instrument said, reading or chatter.
func (l *link) heard(b []byte, topic string) {
	l.f.tap(Traffic{At: time.Now(), Topic: topic, Data: bytes.Clone(b)})
}

// datagram hands over a message that came in one piece: it may be one reading,
// or several lines.
func (l *link) datagram(b []byte, topic string) verdict {
	if len(b) > l.f.cfg.MaxLine {
		l.tooLong()
		return verdict{}
	}
	l.heard(b, topic)
	now := time.Now()
	if l.f.cfg.Instrument.Whole(b) {
		return l.f.message(l, instrument.Message{Data: b, Topic: topic}, now)
	}
	end := l.f.cfg.end()
	var sum verdict
	for {
		line, rest, more := end.cut(b)
		if !more {
			line = b
		}
		sum = sum.and(l.f.message(l, instrument.Message{Data: line, Topic: topic}, now))
		if !more {
			return sum
		}
		b = rest
	}
}

// end is the terminator of a line.
func (c *Config) end() lineEnd {
	if c.Instrument == nil {
		return ""
	}
	return lineEnd(c.Instrument.End)
}

// tooLong counts a message that exceeded the bound and was dropped unread.
func (l *link) tooLong() {
	l.f.setAside(Aside{Reason: TooLong, Words: fmt.Sprintf("more than %d bytes", l.f.cfg.MaxLine)})
}

// sent records what was sent to the instrument.
func (l *link) sent(b []byte) { l.f.tap(Traffic{At: time.Now(), Sent: true, Data: bytes.Clone(b)}) }

// tap passes traffic on, one piece at a time.
func (f *Feed) tap(t Traffic) {
	if f.cfg.Tap == nil {
		return
	}
	f.tapLock.Lock()
	defer f.tapLock.Unlock()
	f.cfg.Tap(t)
}

// Traffic is one piece of a meter's dialogue, as it crossed the wire.
type Traffic struct {
	At    time.Time
	Sent  bool   // by us to the instrument
	Topic string // what it came by, where the transport has such a thing
	Data  []byte // a line without its end, a datagram, or the bytes sent
}
