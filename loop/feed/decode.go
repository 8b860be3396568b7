package feed

import "time"

// decoder turns messages into drafts. It may keep state between the lines of
// one reading; reset forgets it when a link begins anew.
type decoder interface {
	decode(m []byte, now time.Time) ([]draft, []Aside)
	reset()
}

func newDecoder(c Config) decoder {
	return ownJSON{}
}
