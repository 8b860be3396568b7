package userfile

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

func fifo(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "pipe")
	if err := syscall.Mkfifo(path, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// A name that a person gives may be anything that the system has.
func TestDevicesAndPipesAreNotOpened(t *testing.T) {
	sock := filepath.Join(t.TempDir(), "sock")
	fd, err := syscall.Socket(syscall.AF_UNIX, syscall.SOCK_STREAM, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer syscall.Close(fd)
	if err := syscall.Bind(fd, &syscall.SockaddrUnix{Name: sock}); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		"/dev/zero": "a device", link(t, "/dev/zero"): "a device", fifo(t): "a named pipe", sock: "a socket",
	} {
		if _, err := Read(path, Profile); !errors.Is(err, ErrKind) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want that it is %s", path, err, want)
		}
	}
}

// The size that the system tells is not believed: these files say 0 bytes.
func TestAFileThatSaysItIsEmptyIsReadToItsEnd(t *testing.T) {
	data, err := Read("/proc/self/status", Profile)
	if err != nil || !strings.Contains(string(data), "VmRSS") {
		t.Errorf("%d bytes, %v", len(data), err)
	}
	if _, err := Read("/proc/self/status", Kind{"a word", 16}); !errors.Is(err, ErrKind) {
		t.Errorf("more than its kind has: %v, want ErrKind", err)
	}
}

// Opening a pipe that nobody writes to does not wait, and reading ends when the
// stream is closed.
func TestAStreamIsAFileOrAPipeAndCanBeClosed(t *testing.T) {
	if _, err := OpenStream("/dev/zero"); !errors.Is(err, ErrKind) {
		t.Errorf("a device: %v, want ErrKind", err)
	}
	s, err := OpenStream(write(t, "log", 1<<30))
	if err != nil || !s.Growing {
		t.Fatalf("a large file: %+v, %v", s, err)
	}
	s.Close()
	path := fifo(t)
	s, err = OpenStream(path)
	if err != nil || s.Growing {
		t.Fatalf("a pipe: %+v, %v", s, err)
	}
	w, err := os.OpenFile(path, os.O_WRONLY, 0) // now a read waits
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	ended := make(chan error, 1)
	go func() {
		_, err := s.Read(make([]byte, 1))
		ended <- err
	}()
	time.AfterFunc(20*time.Millisecond, func() { s.Close() })
	select {
	case err := <-ended:
		if err == nil {
			t.Error("a read of a closed pipe brought something")
		}
	case <-time.After(10 * time.Second):
		t.Fatal("a read of a pipe did not end when it was closed")
	}
}
