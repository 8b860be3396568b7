package feed

import (
	"bytes"
	"errors"
	"io"
)

// lines reads a byte stream and hands over its lines, each at most max bytes.
// A longer one is dropped up to its end and counted once. The last piece
// without an end is handed over when the stream ends.
func lines(r io.Reader, end lineEnd, max int, emit func([]byte) error, tooLong func()) error {
	c := lineCutter{end: end, max: max, emit: emit, tooLong: tooLong}
	chunk := make([]byte, 4096)
	for {
		n, err := r.Read(chunk)
		if err := c.add(chunk[:n]); err != nil {
			return err
		}
		if err != nil {
			if len(bytes.TrimSpace(c.buf)) > 0 && !c.skipping && errors.Is(err, io.EOF) {
				if err := emit(c.buf); err != nil {
					return err
				}
			}
			return err
		}
	}
}

// lineCutter holds the piece of a line whose end has not come.
type lineCutter struct {
	end      lineEnd
	max      int
	emit     func([]byte) error
	tooLong  func()
	buf      []byte
	skipping bool // the rest of a line that was too long
}

// add hands over the lines that are whole with the piece.
func (c *lineCutter) add(piece []byte) error {
	c.buf = append(c.buf, piece...)
	for {
		line, rest, ok := c.end.cut(c.buf)
		if !ok {
			break
		}
		switch {
		case c.skipping:
			c.skipping = false
		case len(line) > c.max:
			c.tooLong()
		default:
			if err := c.emit(line); err != nil {
				return err
			}
		}
		c.buf = c.buf[:copy(c.buf, rest)]
	}
	if len(c.buf) > c.max {
		if !c.skipping {
			c.tooLong()
		}
		c.skipping = true
		// Keep what may be the beginning of a terminator.
		held := max(len(c.end)-1, 0)
		c.buf = c.buf[:copy(c.buf, c.buf[len(c.buf)-held:])]
	}
	return nil
}

// lineEnd is the terminator of a line; empty means CR, LF or both.
type lineEnd string

// cut splits the first line off; ok is false when there is none yet.
func (e lineEnd) cut(b []byte) (line, rest []byte, ok bool) {
	if e != "" {
		return bytes.Cut(b, []byte(e))
	}
	i := bytes.IndexAny(b, "\r\n")
	if i < 0 {
		return nil, nil, false
	}
	return b[:i], b[i+1:], true
}
