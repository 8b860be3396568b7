package feed

import (
	"bytes"
	"context"
	"errors"
	"io"
)

// lines reads a byte stream and hands over its lines, each at most max bytes.
// A longer one is dropped up to its end and counted once. The last piece
// without an end is handed over when the stream ends.
func lines(ctx context.Context, r io.Reader, end lineEnd, max int, l *link) error {
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
					l.tooLong(max)
				} else {
					l.message(line)
				}
			}
			skipping = false
			buf = buf[:copy(buf, rest)]
		}
		if len(buf) > max {
			if !skipping {
				l.tooLong(max)
			}
			skipping = true
			// Keep what may be the beginning of a terminator.
			keep := len(end) - 1
			if keep < 0 {
				keep = 0
			}
			buf = buf[:copy(buf, buf[len(buf)-keep:])]
		}
		if err != nil {
			if len(bytes.TrimSpace(buf)) > 0 && !skipping && errors.Is(err, io.EOF) {
				l.message(buf)
			}
			if ctx.Err() != nil {
				return ctx.Err()
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
