package archive

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Limits bound what is looked at before anything is unpacked.
type Limits struct {
	Kind      string // what the archive should be, for messages: "GDTF archive"
	Size      int64  // bytes of the archive
	Directory int64  // bytes of the list of entries
	Entries   int
}

// Archive is an open ZIP archive.
type Archive struct {
	root   map[string]*zip.File // entries of the root by their exact name
	twice  map[string]bool      // names that stand more than once
	budget *Budget
}

// ErrMissing says that an archive has no such entry in its root.
var ErrMissing = errors.New("not in the archive's root")

// Open reads the directory of an archive of size bytes; nothing is unpacked.
func Open(r io.ReaderAt, size int64, l Limits, b *Budget) (*Archive, error) {
	if size > l.Size {
		return nil, fmt.Errorf("the archive has %d MiB; %d are allowed", size>>20, l.Size>>20)
	}
	if err := boundDirectory(r, size, l); err != nil {
		return nil, err
	}
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, fmt.Errorf("not a readable %s: %w", l.Kind, plain(err))
	}
	if len(z.File) > l.Entries {
		return nil, fmt.Errorf("the archive has too many entries: %d; %d are allowed", len(z.File), l.Entries)
	}
	a := &Archive{root: map[string]*zip.File{}, twice: map[string]bool{}, budget: b}
	for _, f := range z.File {
		if strings.ContainsAny(f.Name, `/\`) {
			continue // in a folder, or a path trick
		}
		if a.root[f.Name] != nil {
			a.twice[f.Name] = true
		}
		a.root[f.Name] = f
	}
	return a, nil
}

// Has tells whether the root has an entry of exactly this name.
func (a *Archive) Has(name string) bool { return a.root[name] != nil }

// Fold finds the one name of the root that is name but for upper and lower
// case; empty where there is none, or more than one.
func (a *Archive) Fold(name string) string {
	found := ""
	for have := range a.root {
		if strings.EqualFold(have, name) {
			if found != "" {
				return ""
			}
			found = have
		}
	}
	return found
}

// entry finds an entry that can be read; ErrMissing where there is none.
func (a *Archive) entry(name string) (*zip.File, error) {
	f := a.root[name]
	switch {
	case f == nil:
		return nil, fmt.Errorf("%s: %w", name, ErrMissing)
	case a.twice[name]:
		return nil, fmt.Errorf("the archive holds %s twice; which one counts can not be told", name)
	case f.Flags&1 != 0:
		return nil, fmt.Errorf("%s is encrypted", name)
	case f.Method != zip.Store && f.Method != zip.Deflate:
		return nil, fmt.Errorf("%s is packed by method %d; stored and deflated entries can be read", name, f.Method)
	}
	return f, nil
}

// Open unpacks an entry of the root as it is read: at most bound bytes, and no
// more than is left of the budget. What is beyond is an error, not an end.
func (a *Archive) Open(name string, bound int64) (io.ReadCloser, error) {
	f, err := a.entry(name)
	if err != nil {
		return nil, err
	}
	rc, err := f.Open()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, plain(err))
	}
	return &bounded{rc, name, bound, bound, a.budget}, nil
}

// Inner gives an entry that is an archive itself, for reading in any order. A
// stored one is read where it lies in outer, of which it costs nothing; a
// deflated one is unpacked into buf, at most bound bytes of it.
func (a *Archive) Inner(outer io.ReaderAt, name string, bound int64, buf *bytes.Buffer) (io.ReaderAt, int64, error) {
	f, err := a.entry(name)
	if err != nil {
		return nil, 0, err
	}
	if f.Method == zip.Store {
		at, err := f.DataOffset()
		if err != nil {
			return nil, 0, fmt.Errorf("%s: %w", name, plain(err))
		}
		n := int64(min(f.CompressedSize64, 1<<40))
		return io.NewSectionReader(outer, at, n), n, nil
	}
	rc, err := a.Open(name, bound)
	if err != nil {
		return nil, 0, err
	}
	defer rc.Close()
	buf.Reset()
	buf.Grow(int(min(int64(min(f.UncompressedSize64, 1<<40)), bound)) + bytes.MinRead) // so that it need not double on the way
	if _, err := buf.ReadFrom(rc); err != nil {
		return nil, 0, err
	}
	return bytes.NewReader(buf.Bytes()), int64(buf.Len()), nil
}

// boundDirectory looks at the ZIP's end record (APPNOTE 4.3.16) before the
// library reads the directory into memory, so that a crafted file can not make
// it large.
func boundDirectory(r io.ReaderAt, size int64, l Limits) error {
	const endLen, locatorLen, maxComment = 22, 20, 65535
	notZip := fmt.Errorf("not a %s: the end of a ZIP file is missing", l.Kind)
	tail := make([]byte, min(size, locatorLen+endLen+maxComment))
	if len(tail) < endLen {
		return notZip
	}
	if n, err := r.ReadAt(tail, size-int64(len(tail))); n < len(tail) {
		return fmt.Errorf("%s: %w", l.Kind, err)
	}
	at := bytes.LastIndex(tail, []byte("PK\x05\x06"))
	if at < 0 || at+endLen > len(tail) {
		return notZip
	}
	end := tail[at:]
	entries := binary.LittleEndian.Uint16(end[10:])
	length := int64(binary.LittleEndian.Uint32(end[12:]))
	offset := int64(binary.LittleEndian.Uint32(end[16:]))
	// A locator (4.3.15) in front sends the reader to another end record, with
	// another directory than the one that is bounded here.
	if at >= locatorLen && bytes.HasPrefix(tail[at-locatorLen:], []byte("PK\x06\x07")) {
		return fmt.Errorf("the archive is in ZIP64 form, as for more than 4 GiB or 65535 entries; %d MiB and %d are allowed", l.Size>>20, l.Entries)
	}
	if entries == 0xFFFF || offset == 0xFFFFFFFF || int(entries) > l.Entries {
		return fmt.Errorf("the archive has too many entries; %d are allowed", l.Entries)
	}
	if length > l.Directory || size-offset > l.Directory+endLen+maxComment {
		return fmt.Errorf("the archive's directory is larger than %d MiB", l.Directory>>20)
	}
	return nil
}
