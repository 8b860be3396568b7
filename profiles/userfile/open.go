package userfile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"
)

// ErrKind is wrapped by the error for a name that is there but is no regular
// file, or is too large for its kind.
var ErrKind = errors.New("not a file that can be read here")

// patience is how long a read may take that brings nothing. Regular files on a
// disk never wait; some that the system makes up do.
const patience = 5 * time.Second

// Open opens a regular file of a kind for reading. A missing file is a
// *NotThere, which wraps fs.ErrNotExist; anything that is no regular file, or larger than
// Kind.Max, wraps ErrKind.
func Open(path string, k Kind) (*os.File, error) {
	info, err := os.Stat(path) // before opening: opening a device may do something
	if err != nil {
		return nil, inWords(path, k, err)
	}
	if err := regular(path, info, k); err != nil {
		return nil, err
	}
	f, err := open(path)
	if err != nil {
		return nil, inWords(path, k, err)
	}
	// Again on what was opened: the name may lead elsewhere by now.
	info, err = f.Stat()
	if err == nil {
		err = regular(path, info, k)
	}
	if err == nil && info.Size() > k.Max {
		err = tooLarge(path, k)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	f.SetReadDeadline(time.Now().Add(patience)) // of no effect on files that never wait
	return f, nil
}

// Read reads a whole regular file of a kind; see Open.
func Read(path string, k Kind) ([]byte, error) {
	f, err := Open(path, k)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	// The size that was told is not believed: a file may grow while it is read.
	data, err := io.ReadAll(io.LimitReader(f, k.Max+1))
	if err != nil {
		return nil, err
	}
	if int64(len(data)) > k.Max {
		return nil, tooLarge(path, k)
	}
	return data, nil
}

// Stream is an open source of lines that may go on growing.
type Stream struct {
	*os.File
	// Growing is true for a regular file, whose end is only the end for now. A
	// named pipe ends when its last writer has gone.
	Growing bool
}

// OpenStream opens a regular file of any size, or a named pipe, to read lines
// from it as they come. It never waits for somebody to write: a read may wait,
// and ends when the stream is closed. The caller bounds its lines.
func OpenStream(path string) (*Stream, error) {
	k := Kind{Name: "a file that a meter's lines are added to"}
	info, err := os.Stat(path)
	if err != nil {
		return nil, inWords(path, k, err)
	}
	if info.Mode()&fs.ModeNamedPipe == 0 {
		if err := regular(path, info, k); err != nil {
			return nil, err
		}
	}
	f, err := open(path)
	if err != nil {
		return nil, inWords(path, k, err)
	}
	now, err := f.Stat()
	if err == nil && !os.SameFile(info, now) {
		err = fmt.Errorf("%s was replaced while it was opened", path)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return &Stream{File: f, Growing: now.Mode().IsRegular()}, nil
}

// regular says what a name stands for when it is no file.
func regular(path string, info fs.FileInfo, k Kind) error {
	m := info.Mode()
	what, todo := "", ""
	switch {
	case m.IsRegular():
		return nil
	case m.IsDir():
		what, todo = "a folder", "name the file in it"
	case m&fs.ModeNamedPipe != 0:
		what, todo = "a named pipe", "write what it brings into a file and name that"
	case m&fs.ModeDevice != 0:
		what, todo = "a device", "name a file"
	case m&fs.ModeSocket != 0:
		what, todo = "a socket", "name a file"
	default:
		what, todo = "no regular file", "name a file"
	}
	return &notThis{fmt.Sprintf("%s is %s, and %s is wanted; %s", path, what, k.Name, todo)}
}

func tooLarge(path string, k Kind) error {
	return &notThis{fmt.Sprintf("%s is too large: %s has at most %s; is it the right file?", path, k.Name, bytesText(k.Max))}
}

func bytesText(n int64) string {
	if n >= 1<<20 {
		return fmt.Sprintf("%d MiB", n>>20)
	}
	return fmt.Sprintf("%d KiB", n>>10)
}

// notThis is an ErrKind with its own words.
type notThis struct{ text string }

func (e *notThis) Error() string { return e.text }
func (e *notThis) Unwrap() error { return ErrKind }
