package feed

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"trueup/profiles/userfile"
)

// A device as a feed is refused with what to do, not read without end.
func TestAFeedFromADeviceIsRefused(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	f, err := Open(ctx, Config{Name: "meter", Kind: "file", Address: "/dev/zero"})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.Next(ctx); !errors.Is(err, userfile.ErrKind) || !strings.Contains(err.Error(), "is a device") {
		t.Errorf("%v, want that it is a device", err)
	}
	if s := f.Status(); s.State != Refused {
		t.Errorf("the feed is %v (%s), want refused", s.State, s.Why)
	}
}

// A named pipe is a feed like any other: writers come and go, and closing ends
// it at any time.
func TestAFeedFromAPipeOutlivesItsWriters(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	path := filepath.Join(t.TempDir(), "pipe")
	if err := syscall.Mkfifo(path, 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := Open(ctx, Config{Name: "meter", Kind: "file", Address: path})
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		w, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.WriteString(`{"x":0.3127,"y":0.3290}` + "\n"); err != nil {
			t.Fatal(err)
		}
		if _, err := f.Next(ctx); err != nil {
			t.Fatal(err)
		}
		w.Close()
	}
	if n := f.Status().Links; n != 1 {
		t.Errorf("the link came up %d times, want once", n)
	}
	w, err := os.OpenFile(path, os.O_WRONLY, 0) // holds it open without a word
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	f.Close() // hangs, if a read can not be woken
}
