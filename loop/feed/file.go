package feed

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"

	"trueup/profiles/userfile"
)

// stdinSource reads lines from a reader until it ends; then the feed has ended.
type stdinSource struct{ r io.Reader }

func newStdin(c Config) (transport, error) {
	if c.Input == nil {
		return nil, fmt.Errorf("feed %s: nothing to read from", c.Name)
	}
	return &stdinSource{c.Input}, nil
}

// run leaves a goroutine behind while a read of the input is under way: a
// terminal can not be woken. It ends with the next line or the input.
func (s *stdinSource) run(ctx context.Context, f *Feed) error {
	l := newLink(f)
	l.up()
	ended := make(chan error, 1)
	go func() {
		ended <- lines(s.r, f.cfg.end(), f.cfg.MaxLine, func(b []byte) error {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			l.heard(b, "")
			l.line(b, time.Time{})
			return nil
		}, l.tooLong)
	}()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case err := <-ended:
		if errors.Is(err, io.EOF) {
			return &refusal{ErrEnded}
		}
		return refuse("reading the input: %w", err)
	}
}

// ErrEnded is returned when an input has come to its end.
var ErrEnded = errors.New("the input has ended")

// fileTail reads the lines that are added to a file. It follows a file that is
// cut short or replaced. A named pipe serves too, for as long as somebody writes
// to it; other things under the name are refused.
type fileTail struct {
	path string
	seen bool // the first life starts at the end, later ones at the beginning
}

// tailEvery is how often a file is looked at.
const tailEvery = 100 * time.Millisecond

func newFile(c Config) (transport, error) {
	if c.Address == "" {
		return nil, fmt.Errorf("feed %s: the path of the file is missing", c.Name)
	}
	return &fileTail{path: c.Address}, nil
}

func (t *fileTail) run(ctx context.Context, f *Feed) error {
	file, err := userfile.OpenStream(t.path)
	if errors.Is(err, userfile.ErrKind) {
		return &refusal{err}
	}
	if err != nil {
		t.seen = t.seen || errors.Is(err, fs.ErrNotExist) // what appears later is new
		return err
	}
	defer file.Close()
	// A read of a pipe waits; closing wakes it.
	defer context.AfterFunc(ctx, func() { file.Close() })()
	if !t.seen && file.Growing {
		if _, err := file.Seek(0, io.SeekEnd); err != nil {
			return refuse("%s: %w", t.path, err)
		}
	}
	t.seen = true
	l := newLink(f)
	l.up()
	return lines(&tailReader{ctx, file, t.path}, f.cfg.end(), f.cfg.MaxLine, func(b []byte) error {
		if err := l.flooded(); err != nil && !file.Growing {
			return err // a growing file may bring much at once, and waits for nobody
		}
		l.heard(b, "")
		l.line(b, time.Time{})
		return nil
	}, l.tooLong)
}

// tailReader turns the end of a file into waiting.
type tailReader struct {
	ctx  context.Context
	file *userfile.Stream
	path string
}

var errReplaced = errors.New("the file was replaced or cut short")

func (r *tailReader) Read(p []byte) (int, error) {
	for {
		if r.ctx.Err() != nil { // also when there is always more to read
			return 0, r.ctx.Err()
		}
		n, err := r.file.Read(p)
		if n > 0 || err != nil && !errors.Is(err, io.EOF) {
			return n, err
		}
		if r.replaced() {
			return 0, errReplaced
		}
		select {
		case <-r.ctx.Done():
			return 0, r.ctx.Err()
		case <-time.After(tailEvery):
		}
	}
}

func (r *tailReader) replaced() bool {
	mine, err := r.file.Stat()
	if err != nil {
		return true
	}
	named, err := os.Stat(r.path)
	if err != nil || !os.SameFile(mine, named) {
		return true
	}
	if !r.file.Growing {
		return false
	}
	at, err := r.file.Seek(0, io.SeekCurrent)
	return err != nil || mine.Size() < at
}
