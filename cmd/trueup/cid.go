package main

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"trueup/profiles/userfile"
)

// installationCID gives the component identifier that this installation sends
// in every E1.31 packet (E1.31-2018 5.6): a random UUID (RFC 9562 section 5.4),
// made once and kept in dir, so that receivers know us again after a restart.
// Two programs that start at once agree on one.
func installationCID(dir string) ([16]byte, error) {
	path := filepath.Join(dir, "cid")
	cid, err := readCID(path)
	if !errors.Is(err, fs.ErrNotExist) {
		return cid, err
	}
	if _, err := rand.Read(cid[:]); err != nil {
		return [16]byte{}, fmt.Errorf("component identifier: %w", err)
	}
	cid[6] = cid[6]&0x0F | 0x40 // version 4
	cid[8] = cid[8]&0x3F | 0x80 // the variant of RFC 9562
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return [16]byte{}, fmt.Errorf("component identifier: %w", err)
	}
	tmp, err := os.CreateTemp(dir, "cid-*")
	if err != nil {
		return [16]byte{}, fmt.Errorf("component identifier: %w", err)
	}
	defer os.Remove(tmp.Name())
	_, err = tmp.WriteString(uuidText(cid) + "\n")
	if err == nil {
		err = tmp.Sync()
	}
	if cerr := tmp.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return [16]byte{}, fmt.Errorf("component identifier: %w", err)
	}
	// A link, unlike a rename, does not replace what another program has put
	// there in the meantime. Where a file system has no links, rename.
	err = os.Link(tmp.Name(), path)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return [16]byte{}, fmt.Errorf("component identifier: %w", err)
	}
	return readCID(path)
}

func readCID(path string) ([16]byte, error) {
	text, err := userfile.Read(path, userfile.Identity)
	if err != nil {
		return [16]byte{}, fmt.Errorf("component identifier: %w", err)
	}
	cid, err := parseUUID(strings.TrimSpace(string(text)))
	if err != nil {
		return [16]byte{}, fmt.Errorf("component identifier in %s: %w; delete the file and a new one is made", path, err)
	}
	return cid, nil
}

// uuidText writes 16 bytes as RFC 9562 section 4 does.
func uuidText(u [16]byte) string {
	h := hex.EncodeToString(u[:])
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:]
}

// parseUUID reads what uuidText writes; the nil UUID is no identity.
func parseUUID(text string) (u [16]byte, err error) {
	ok := len(text) == 36 && text[8] == '-' && text[13] == '-' && text[18] == '-' && text[23] == '-'
	digits := strings.ReplaceAll(text, "-", "")
	if !ok || len(digits) != 32 {
		return u, fmt.Errorf("%.40q is not a UUID", text)
	}
	if _, err := hex.Decode(u[:], []byte(digits)); err != nil {
		return [16]byte{}, fmt.Errorf("%.40q is not a UUID", text)
	}
	if u == ([16]byte{}) {
		return u, fmt.Errorf("the UUID is zero")
	}
	return u, nil
}
