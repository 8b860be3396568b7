package feed

import "time"

// message is one raw message: a line, a datagram, a body.
type message struct {
	data  []byte
	topic string    // what it came by: MQTT topic, path of a request
	asked time.Time // when the measurement was triggered; zero: not by us
}

// decoder turns messages into drafts. It may keep state between the lines of
// one reading, and lives as long as one connection.
type decoder interface {
	decode(m message, now time.Time) ([]draft, []Aside)
}

func newDecoder(c Config, p *precision) decoder {
	if c.Instrument == nil {
		return ownJSON{}
	}
	return &instrumentDecoder{ins: c.Instrument, precision: p}
}

// precision is the finest rounding seen of a feed, for text that drops zeros
// at its end.
type precision struct{ finest float64 }
