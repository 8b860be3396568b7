package instrument

import "time"

// Message is one raw message: a line, a datagram, a body.
type Message struct {
	Data  []byte
	Topic string    // what it came by: MQTT topic, OSC address, path of a request
	Asked time.Time // when the measurement was triggered; zero: not by us
}

// Decoder turns messages into drafts. It may keep state between the lines of
// one reading, and lives as long as one connection.
type Decoder interface {
	Decode(m Message, now time.Time) ([]Draft, []Aside)
}

// NewDecoder reads by a description; nil stands for JSON lines of our own. p is
// shared by all decoders of one feed.
func NewDecoder(ins *Instrument, p *Precision) Decoder {
	if ins == nil {
		return ownJSON{}
	}
	return &instrumentDecoder{ins: ins, Precision: p}
}

// Precision is the finest rounding seen of a feed, for text that drops zeros
// at its end.
type Precision struct{ finest float64 }
