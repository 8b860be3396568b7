package feed

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// wire is a transport made of channels, so that tests run in virtual time.
type wire struct {
	mu    sync.Mutex
	lives int
	lines chan string
	cut   chan error
}

func newWire() *wire { return &wire{lines: make(chan string), cut: make(chan error)} }

func (w *wire) run(ctx context.Context, f *Feed) error {
	l := newLink(f)
	w.mu.Lock()
	w.lives++
	w.mu.Unlock()
	l.up()
	for {
		select {
		case s := <-w.lines:
			l.line([]byte(s), time.Time{})
		case err := <-w.cut:
			return err
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

var errUnplugged = errors.New("cable pulled")

// later sends a line after a while unless the test is over; it reports whether
// it could.
func (w *wire) later(ctx context.Context, after time.Duration, text func() string) bool {
	select {
	case <-time.After(after):
	case <-ctx.Done():
		return false
	}
	select {
	case w.lines <- text():
		return true
	case <-ctx.Done():
		return false
	}
}

// openWire opens a feed on a wire of its own.
func openWire(t *testing.T, c Config) (*Feed, *wire) {
	t.Helper()
	w := newWire()
	f, err := openWith(t.Context(), c, w)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f, w
}

// soon bounds a wait on something that is under way.
func soon(t *testing.T) context.Context {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(cancel)
	return ctx
}
