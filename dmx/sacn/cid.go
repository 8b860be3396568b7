package sacn

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// CID names a sender for its whole life (E1.31 5.6): a UUID. A source is its
// CID, never its IP address; two programs with one CID are one source to every
// receiver. The zero CID is none.
type CID [16]byte

// mark makes our CIDs known to each other, so that one overlay never feeds on
// another: a version 8 UUID (RFC 9562 5.8, "vendor specific") that begins so.
var mark = [4]byte{'l', 'e', 'v', 'l'}

// NewCID draws a fresh CID with our mark.
func NewCID() (CID, error) {
	var c CID
	if _, err := rand.Read(c[:]); err != nil {
		return CID{}, fmt.Errorf("draw a CID: %w", err)
	}
	copy(c[:], mark[:])
	c[6] = c[6]&0x0f | 0x80 // version 8
	c[8] = c[8]&0x3f | 0x80 // variant of RFC 9562
	return c, nil
}

// Ours tells whether c was made by NewCID, here or on another machine.
func (c CID) Ours() bool {
	return [4]byte(c[:4]) == mark && c[6]>>4 == 8 && c[8]>>6 == 2
}

// String writes the CID as UUIDs are written.
func (c CID) String() string {
	h := hex.EncodeToString(c[:])
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:]
}

// ParseCID reads what String writes.
func ParseCID(s string) (CID, error) {
	var c CID
	h := strings.ReplaceAll(s, "-", "")
	if len(s) != 36 || len(h) != 32 {
		return c, fmt.Errorf("%q is not a UUID such as 6c65766c-0b1c-8d2e-9f30-415263748596", s)
	}
	if _, err := hex.Decode(c[:], []byte(h)); err != nil {
		return CID{}, fmt.Errorf("%q is not a UUID: %w", s, err)
	}
	if c == (CID{}) {
		return c, errors.New("the CID with only zeros names nobody")
	}
	return c, nil
}

// CIDFile returns the CID kept in the file at path, and makes the file, with a
// fresh CID, if there is none. The file belongs to one installation: a copied
// one makes two senders one source.
func CIDFile(path string) (CID, error) {
	text, err := os.ReadFile(path)
	if err == nil {
		c, err := ParseCID(strings.TrimSpace(string(text)))
		if err != nil {
			return CID{}, fmt.Errorf("%s: %w (delete the file to get a fresh one)", path, err)
		}
		return c, nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return CID{}, err
	}
	c, err := NewCID()
	if err != nil {
		return CID{}, err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return CID{}, err
	}
	// Written beside and linked into place, so that of two programs starting at
	// once both end with the same CID.
	tmp, err := os.CreateTemp(filepath.Dir(path), ".cid-*")
	if err != nil {
		return CID{}, err
	}
	defer os.Remove(tmp.Name())
	_, err = tmp.WriteString(c.String() + "\n")
	if err = errors.Join(err, tmp.Close()); err != nil {
		return CID{}, err
	}
	if err := os.Link(tmp.Name(), path); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return CIDFile(path)
		}
		if err := os.Rename(tmp.Name(), path); err != nil { // a file system without links
			return CID{}, err
		}
	}
	return c, nil
}
