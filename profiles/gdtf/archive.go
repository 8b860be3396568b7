package gdtf

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
)

// Bounds on an archive. Pictures and models make real files large; what we read
// of them is small.
const (
	maxArchive     = 256 << 20 // bytes of the file
	maxDirectory   = 2 << 20   // bytes of the list of entries
	maxEntries     = 8192
	maxDescription = 16 << 20 // bytes of description.xml, unpacked
)

const descriptionName = "description.xml"

// Open reads the fixture type out of a GDTF file.
func Open(path string) (*FixtureType, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("GDTF file: %w", err)
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return nil, fmt.Errorf("GDTF file: %w", err)
	}
	if !st.Mode().IsRegular() {
		return nil, fmt.Errorf("GDTF file %s is not a plain file", path)
	}
	ft, err := Read(f, st.Size())
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return ft, nil
}

// Read reads the fixture type out of a GDTF archive of size bytes.
func Read(r io.ReaderAt, size int64) (*FixtureType, error) {
	xml, err := description(r, size)
	if err != nil {
		return nil, err
	}
	root, err := parseXML(xml)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", descriptionName, err)
	}
	return newFixtureType(root)
}

// description unpacks description.xml and nothing else.
func description(r io.ReaderAt, size int64) ([]byte, error) {
	if size > maxArchive {
		return nil, fmt.Errorf("the archive has %d MiB; %d are allowed", size>>20, maxArchive>>20)
	}
	if err := boundDirectory(r, size); err != nil {
		return nil, err
	}
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, fmt.Errorf("not a GDTF archive: %w", err)
	}
	if len(z.File) > maxEntries {
		return nil, fmt.Errorf("the archive has %d entries; %d are allowed", len(z.File), maxEntries)
	}
	var found *zip.File
	for _, f := range z.File {
		if f.Name != descriptionName {
			continue
		}
		if found != nil {
			return nil, fmt.Errorf("the archive holds %s twice; which one counts can not be told", descriptionName)
		}
		found = f
	}
	if found == nil {
		return nil, fmt.Errorf("the archive has no %s in its root: it is not a GDTF file", descriptionName)
	}
	if found.Flags&1 != 0 {
		return nil, fmt.Errorf("%s is encrypted", descriptionName)
	}
	rc, err := found.Open()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", descriptionName, err)
	}
	defer rc.Close()
	data, err := io.ReadAll(io.LimitReader(rc, maxDescription+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", descriptionName, err)
	}
	if len(data) > maxDescription {
		return nil, fmt.Errorf("%s unpacks to more than %d MiB", descriptionName, maxDescription>>20)
	}
	return data, nil
}

var errNotZip = errors.New("not a GDTF archive: the end of a ZIP file is missing")

// boundDirectory looks at the ZIP's end record (APPNOTE 4.3.16) before the
// library reads the directory into memory, so that a crafted file can not make
// it large.
func boundDirectory(r io.ReaderAt, size int64) error {
	const endLen, maxComment = 22, 65535
	tail := make([]byte, min(size, endLen+maxComment))
	if len(tail) < endLen {
		return errNotZip
	}
	if n, err := r.ReadAt(tail, size-int64(len(tail))); n < len(tail) {
		return fmt.Errorf("GDTF archive: %w", err)
	}
	at := bytes.LastIndex(tail, []byte("PK\x05\x06"))
	if at < 0 || at+endLen > len(tail) {
		return errNotZip
	}
	end := tail[at:]
	entries := binary.LittleEndian.Uint16(end[10:])
	length := int64(binary.LittleEndian.Uint32(end[12:]))
	offset := int64(binary.LittleEndian.Uint32(end[16:]))
	if entries == 0xFFFF || offset == 0xFFFFFFFF || int(entries) > maxEntries {
		return fmt.Errorf("the archive has too many entries; %d are allowed", maxEntries)
	}
	if length > maxDirectory || size-offset > maxDirectory+endLen+maxComment {
		return fmt.Errorf("the archive's directory is larger than %d MiB", maxDirectory>>20)
	}
	return nil
}
