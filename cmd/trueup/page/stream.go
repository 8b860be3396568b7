package page

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"time"
)

const (
	// beat is how often a stream says something when there is nothing to say, so that a page knows that it is
	// live; a page that has heard nothing for three of them says that it is not.
	beat = 2 * time.Second
	// patience is how long a page may leave what it was sent unread.
	patience = 10 * time.Second
)

// stream sends the board's messages as server-sent events (HTML, 9.2) until the page or ctx ends. lastID is
// the id of the last message that the page has seen.
func (b *Board) stream(ctx context.Context, w io.Writer, lastID string, flush func() error, deadline func(time.Time) error) error {
	n, known := b.numberOf(lastID)
	tick := time.NewTicker(beat)
	defer tick.Stop()
	send := func(format string, args ...any) error {
		if err := deadline(time.Now().Add(patience)); err != nil {
			return err
		}
		if _, err := fmt.Fprintf(w, format, args...); err != nil {
			return err
		}
		return flush()
	}
	if err := send("retry: 1000\n\n"); err != nil {
		return err
	}
	for {
		all, last, more, err := b.since(n, known)
		if err != nil {
			return err
		}
		for i, m := range all {
			name := "change"
			if m.whole {
				name = "state"
			}
			if err := send("id: %s\nevent: %s\ndata: %s\n\n", b.id(last-uint64(len(all)-1-i)), name, m.data); err != nil {
				return err
			}
		}
		n, known = last, true
		select {
		case <-ctx.Done():
			return nil
		case <-more:
		case <-tick.C:
			if err := send("event: beat\ndata: {}\n\n"); err != nil {
				return err
			}
		}
	}
}

// deadlineOf and flushOf are a response's, where its connection has them.
func flushOf(w http.ResponseWriter) func() error { return http.NewResponseController(w).Flush }

func deadlineOf(w http.ResponseWriter) func(time.Time) error {
	return http.NewResponseController(w).SetWriteDeadline
}
