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
	buf := make([]byte, 0, 4096)
	chunk := make([]byte, 4096)
	skipping := false
	for {
		n, err := r.Read(chunk)
		buf = append(buf, chunk[:n]...)
		for {
			line, rest, ok := end.cut(buf)
			if !ok {
				break
			}
			if !skipping {
				if len(line) > max {
					tooLong()
				} else if err := emit(line); err != nil {
					return err
				}
			}
			skipping = false
			buf = buf[:copy(buf, rest)]
		}
		if len(buf) > max {
			if !skipping {
				tooLong()
			}
			skipping = true
			// Keep what may be the beginning of a terminator.
			held := len(end) - 1
			if held < 0 {
				held = 0
			}
			buf = buf[:copy(buf, buf[len(buf)-held:])]
		}
		if err != nil {
			if len(bytes.TrimSpace(buf)) > 0 && !skipping && errors.Is(err, io.EOF) {
				if err := emit(buf); err != nil {
					return err
				}
			}
			return err
		}
	}
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
